"""What a recall speaks of as known at a moment, whatever was taken back or told anew of the units since."""

from datetime import datetime
from typing import Any, Final

import msgspec
import pytest

from service.domain.kinds.recall_opened import Criterion
from service.ledger import Ledger
from service.recalls import Supposed, Wanted, preview
from tests.oracle.firm import COWL, FIRM, defined, issue, part, register, site, tell
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
CELL: Final = {"position": "battery", "part": part("cell", lot="C-1")}
OTHERS: Final = COWL | {"maker": "Invented Power"}
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


EAST, WEST = "Pacific/Kiritimati", "Pacific/Pago_Pago"
EARLIER: Final = {"effective_from": "2025-06-01T00:00:00+00:00", "correction": True, "reason": "typed wrong"}
CORRECTED: Final = site("isle", "uk", WEST, received=LATE, **EARLIER)
ELSEWHERE: Final = tell("found", "2026-01-03 09:00", site="far", received=LATE)


@pytest.mark.parametrize(
    ("where", "since"), [({"site": "isle"}, CORRECTED), ({}, CORRECTED), ({}, ELSEWHERE)], ids=["told", "kept", "found"]
)
@pytest.mark.parametrize(
    ("day", "registered"),
    [("2026-01-05", "2026-01-05 20:00"), ("2026-01-05", "2026-01-06 03:00"), ("2026-01-04", "2026-01-05 03:00")],
)
async def test_what_is_said_of_a_zone_later_takes_it_out_of_nothing_that_was_known(
    ledger: Ledger, where: dict[str, str], since: Posted, day: str, registered: str
) -> None:
    """A part was changed on a day that ended before its registration in the zone known then, and not in the next."""
    told = [
        *FIRM,
        *(site("isle", "uk", EAST), site("far", "uk", WEST)),
        register(registered, parts=[TUBE], site="isle"),
        issue("2025-12-10 08:00", site="isle"),
        tell("part-replaced", day, **SWAPPED, **where),
    ]
    known_at = (await post(ledger, named(told, FIRST)))[-1].recorded_at
    assert known_at is not None
    assert await spoken_of(ledger, known_at) == [("A-1", False, False)]
    [receipt] = await post(ledger, named([since], 900))
    assert receipt.status == 201
    assert await spoken_of(ledger, receipt.recorded_at or known_at) == []
    assert await spoken_of(ledger, known_at) == [("A-1", False, False)]


@pytest.mark.parametrize("back", [True, False], ids=["taken back", "corrected"])
async def test_what_is_said_of_a_maker_later_takes_it_out_of_nothing_that_was_known(
    ledger: Ledger, *, back: bool
) -> None:
    """It was registered as two models of one maker: what either lists may sit in it, though they are two units now."""
    told = named(
        [
            *FIRM,
            defined("model-defined", **COWL),
            register("2025-02-01 08:00", serial="n-1"),
            register("2025-03-01 08:00", tag="B-1", serial="N-1", model="cowl", parts=[CELL]),
        ],
        FIRST,
    )
    known_at = (await post(ledger, told))[-1].recorded_at
    assert known_at is not None
    assert await spoken_of(ledger, known_at) == [("B-1", True, False)]
    definition = told[len(FIRM)].message["id"]
    taken_back = [
        say("voided", LATE, "adm", event=definition, reason="another"),
        defined("model-defined", LATE, **OTHERS),
    ]
    corrected = [defined("model-defined", LATE, **OTHERS, **EARLIER | {"effective_from": "2024-01-01T00:00:00+00:00"})]
    receipts = await post(ledger, named(taken_back if back else corrected, 900))
    assert await spoken_of(ledger, receipts[-1].recorded_at or known_at) == [("A-1", True, False)]
    assert await spoken_of(ledger, known_at) == [("B-1", True, False)]


@pytest.mark.parametrize("back", ["voided", "corrected"])
@pytest.mark.parametrize(("west", "east"), [(WEST, EAST), ("Etc/GMT+12", "Pacific/Auckland")])
async def test_a_site_may_have_moved_to_the_other_end_of_the_day(
    ledger: Ledger, back: str, west: str, east: str
) -> None:
    """The later of two days there ended first, as long as that was said of it."""
    since = "2026-01-05T00:00:00+00:00"
    told = named(
        [
            *FIRM,
            site("isle", "uk", west),
            site("isle", "uk", east, received="2025-12-01 00:00", effective_from=since),
            register("2026-01-05", parts=[TUBE], site="isle"),
            issue("2025-12-10 08:00", site="isle"),
            tell("part-replaced", "2026-01-06", **SWAPPED, site="isle"),
        ],
        FIRST,
    )
    known_at = (await post(ledger, told))[-1].recorded_at
    assert known_at is not None
    assert await spoken_of(ledger, known_at) == [("A-1", False, False)]
    again: dict[str, Any] = {"effective_from": since, "correction": True, "reason": "typed wrong"}
    version = told[len(FIRM) + 1].message["id"]
    taken = say("voided", LATE, "adm", event=version, reason="typed wrong")
    [receipt] = await post(
        ledger, named([taken if back == "voided" else site("isle", "uk", west, received=LATE, **again)], 900)
    )
    assert receipt.status == 201
    assert await spoken_of(ledger, known_at) == [("A-1", False, False)]
