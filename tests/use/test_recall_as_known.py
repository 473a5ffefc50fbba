"""What a recall speaks of as known at a moment, whatever was taken back or told anew of the units since."""

from datetime import datetime
from typing import Any, Final

import msgspec
import pytest

from service.domain.kinds.recall_opened import Criterion
from service.ledger import Ledger
from service.recalls import Supposed, Wanted, preview
from tests.oracle.firm import FIRM, issue, part, register, tell
from tests.oracle.posting import Posted, say
from tests.use.posting import caller_of, post
from tests.use.test_waiting import named

OFFICE = caller_of("office")
TUBE: Final = {"position": "breathing-tube", "part": part("tube", lot="T-1")}
SWAPPED: Final[dict[str, Any]] = {"position": "breathing-tube", "in": part("tube", lot="T-2"), "reason": "damage"}
FIRST: Final = 700
TOLD: Final = [
    *FIRM,
    register("2025-02-01 08:00", tag="A-0", parts=[TUBE]),
    register("2026-01-05 08:00", parts=[TUBE]),
    issue("2025-10-10 08:00"),
    tell("part-replaced", "2025-10-23 08:00", **SWAPPED),
]
SWAP: Final = f"01800000-0000-7000-8000-{FIRST + len(TOLD) - 1:012x}"
LATE: Final = "2026-03-02 09:00"


async def spoken_of(ledger: Ledger, known_at: datetime) -> list[tuple[object, ...]]:
    """Tell which units tubes of a lot were in that nobody had named, as known at a moment."""
    what = Supposed(criteria=(Criterion(item="tube", lot="L-5"),))
    page = await preview(ledger, OFFICE, what, Wanted(known_at=known_at))
    return [(one["asset"], one["affected"], one["certain"]) for one in msgspec.to_builtins(page.items)]


@pytest.mark.parametrize(
    "since",
    [
        [say("voided", LATE, "m-1", event=SWAP, reason="another unit")],
        [register("2025-03-01 08:00", received=LATE, parts=[TUBE])],
        [tell("retired", "2025-10-22 08:00", received=LATE, by="m-1", reason="worn-out")],
        [
            tell("retagged", "2026-01-10 08:00", tag="A-1", received=LATE, by="adm", new_tag="A-9"),
            tell("retagged", "2025-10-01 08:00", tag="A-0", received=LATE, by="adm", new_tag="A-1"),
        ],
    ],
    ids=lambda since: since[0].message["kind"],
)
async def test_what_is_said_of_a_unit_later_takes_it_out_of_nothing_that_was_known(
    ledger: Ledger, since: list[Posted]
) -> None:
    """A part was changed in it before its registration: what sat there until then nobody had said."""
    receipts = await post(ledger, named(TOLD, FIRST))
    known_at = receipts[-1].recorded_at
    assert known_at is not None
    assert await spoken_of(ledger, known_at) == [("A-1", False, False)]
    receipts = await post(ledger, named(since, 900))
    assert [one.status for one in receipts] == [201] * len(since)
    assert await spoken_of(ledger, known_at) == [("A-1", False, False)]
