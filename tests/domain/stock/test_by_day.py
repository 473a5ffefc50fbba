"""What the cautious reading makes of counts and takings that state their day alone, place by place."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import NamedTuple
from uuid import UUID

import pytest

from service.domain.label import sorting
from service.domain.stock.as_said import as_said
from service.domain.stock.changes import STEPS, Change, What
from service.domain.stock.keeping import Kept, keep
from service.domain.stock.lines import Line
from service.domain.stock.shelf import total

DAY = datetime(2026, 3, 2, tzinfo=UTC)
NIGHT = DAY + timedelta(days=1) - timedelta(microseconds=1)


class Told(NamedTuple):
    """What was told of stock: at an hour of the day (before it: below zero), or by the day alone (None)."""

    what: What
    hour: int | None
    much: int
    lot: str | None = "L-9"
    place: str | None = None


@pytest.mark.parametrize(
    ("told", "left"),
    [
        pytest.param(
            [Told("received", 10, 4, place="a"), Told("received", 11, 3, place="b"), Told("counted", None, 0)],
            {"L-9": 7},
            id="a count of all may have been before all that came to any place",
        ),
        pytest.param(
            [
                Told("received", 10, 4, place="a"),
                Told("received", 11, 3, place="b"),
                Told("counted", None, 0, "L-9", "a"),
            ],
            {"L-9": 7},
            id="a count of a place, before what came to that",
        ),
        pytest.param(
            [
                Told("received", -9, 4, place="a"),
                Told("received", 11, 3, place="b"),
                Told("counted", None, 0, "L-9", "a"),
            ],
            {"L-9": 6},
            id="of what was in the place before, no more is left than came anywhere that day",
        ),
        pytest.param(
            [Told("received", -9, 5), Told("received", 12, 2, place="a"), Told("counted", None, 1, "L-9", "a")],
            {"L-9": 7},
            id="what lies in no known place may lie in that one",
        ),
        pytest.param(
            [Told("counted", None, 3, "L-9", "a")], {"L-9": 3}, id="a place may be counted of which nothing was told"
        ),
        pytest.param(
            [Told("received", 0, 5), Told("counted", None, 0)], {"L-9": 5}, id="what came as the day began came on it"
        ),
        pytest.param([Told("received", -1, 5), Told("counted", None, 0)], {"L-9": 0}, id="what came before it did not"),
        pytest.param(
            [Told("counted", 0, 5), Told("discarded", None, 2)],
            {"L-9": 5},
            id="a count as the day began may have missed what was taken on it",
        ),
        pytest.param([Told("counted", -1, 5), Told("discarded", None, 2)], {"L-9": 3}, id="one before it has not"),
        pytest.param(
            [Told("received", -9, 5), Told("counted", 10, 4, "L-8"), Told("discarded", None, 2)],
            {"L-9": 3, "L-8": 4},
            id="what another lot was counted says nothing of one that is named",
        ),
        pytest.param(
            [Told("received", -9, 5, None), Told("counted", 10, 0), Told("discarded", None, 2, None)],
            {None: 5, "L-9": 0},
            id="what was taken without a lot may be what the count of any missed",
        ),
        pytest.param(
            [Told("received", -9, 5, None), Told("received", None, 5, "L-8"), Told("discarded", 0, 3, None)],
            {None: 5, "L-8": 5},
            id="what came by a day may have been there as that began",
        ),
        pytest.param(
            [Told("received", -9, 5, None), Told("discarded", None, 4, "L-8"), Told("discarded", 12, 3, None)],
            {None: 2, "L-8": 0},
            id="what was taken by a day was not there to be taken",
        ),
        pytest.param(
            [Told("received", -9, 9, "L-1"), Told("discarded", 12, 2, None)],
            {"L-1": 9},
            id="what may all have been of others makes no line of its own",
        ),
    ],
)
def test_what_may_be_there_is_told(told: list[Told], left: dict[str | None, int]) -> None:
    """Whatever a day alone leaves open is read so that no box is lost, and no further."""
    every = [change(nth, one) for nth, one in enumerate(told, 1)]
    by_day = [(DAY, written) for one, written in zip(told, every, strict=True) if one.hour is None]
    lines = dict[Line, Kept]()
    for _ in keep(every, as_said(by_day), lines):
        pass
    assert {line.lot: int(total(kept.shelf)) for line, kept in lines.items()} == {
        "" if lot is None else sorting(lot): much for lot, much in left.items()
    }


def change(nth: int, one: Told) -> Change:
    """Write what was told as a change of filter p3 at the dock."""
    at = NIGHT if one.hour is None else DAY + timedelta(hours=one.hour)
    named = (STEPS[one.what], one.what, "dock", "p3", one.lot, None, "C62")
    return Change(at, *named, Decimal(one.much), one.place, UUID(int=nth), 0)
