"""What days alone that are not over bring under a recall, by worked examples."""

from typing import Any

import pytest

from service.domain.recall.opening import Opening
from tests.domain.folding import Folding
from tests.domain.lives import Lives
from tests.domain.test_impact import DAY, POSITION, first, identified, opened, swap
from tests.oracle.firm import PLAIN, part, tell
from tests.oracle.posting import Posted, log, moment


def under(posted: list[Posted], at: str = "2026-01-05 12:00") -> list[tuple[str | None, bool]]:
    """Ask within the day: the lot of each part that is under the recall, and whether that is certain."""
    openings: list[Opening] = [opened(at)]
    found = Lives(Folding(log([*PLAIN, *posted]), []), moment(at)).touched(openings)
    return [(sat.lot, sat.certain) for _, told in found for sat in told.sittings if sat.state == "affected"]


def repaired(lot: str) -> Posted:
    """Put a filter in by a repair."""
    return tell("repaired", DAY, work=["hose"], parts=[{"position": POSITION, "part": part("p3", lot=lot)}])


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        ([swap(DAY, "L-9")], [("L-9", False)]),
        ([swap(DAY, "L-9"), swap(DAY, "L-7")], [("L-9", False)]),
        ([swap(DAY, "L-9"), repaired("L-7")], [("L-9", False)]),
        ([swap(DAY, "L-7"), repaired("L-9")], [("L-9", False)]),
        ([swap(DAY, "L-9"), swap(DAY, None), swap(DAY, "L-7")], [("L-9", False), (None, False)]),
        ([swap(DAY, "L-7"), swap(DAY, "L-6", "L-9")], [("L-9", False)]),
        ([identified(DAY, "L-9"), swap(DAY, "L-7")], [("L-9", False)]),
        ([identified(DAY, "L-9"), identified(DAY, "L-7")], []),
        ([swap("2026-01-05 10:00", "L-7", "L-9")], []),
        ([swap("2026-01-05 10:00", "L-7", "L-9"), identified(DAY, "L-6")], []),
    ],
)
def test_each_part_that_a_day_tells_of_is_under_the_recall_until_it_is_over(
    said: list[Posted], expected: list[Any]
) -> None:
    """Whatever else it tells was put in since; not what had come out before, whatever is named on the day."""
    assert under([first("L-8"), *said]) == expected
