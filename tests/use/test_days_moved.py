"""Days told alone and without a site, and where the unit was as they began, which is told later."""

from dataclasses import replace
from typing import Any, Final

import msgspec
import pytest

from service import assess
from service.domain import marking
from service.ledger import Ledger
from tests.oracle.firm import FIRM, check, examine, issue, part, register, site, tell
from tests.oracle.posting import Posted, moment, say
from tests.use.posting import caller_of, post, post_together
from tests.use.rebuilt import hold_to_a_rebuild
from tests.use.test_waiting import named

BAD: Final[dict[str, dict[str, Any]]] = {
    "failed-in-use": {"signs": ["dropped"], "wearer": "p-1"},
    "quarantined": {"reason": "damage"},
    "missing": {},
}
DAY: Final = "2026-05-10"


def told(kind: str, zone: str = "Asia/Tokyo", at: str = "2026-05-09 22:30", where: str = "dock") -> list[Posted]:
    """Have a unit fail on a day in the east, and then let it be known that it was elsewhere as that began in UTC."""
    return [
        *FIRM,
        site("east", "uk", zone),
        register("2026-05-01 08:00", site="east"),
        examine("2026-05-02 08:00", site="east"),
        issue("2026-05-02 09:00", site="east"),
        tell(kind, DAY, received="2026-05-10 06:00", **BAD[kind]),
        tell("returned", at, received="2026-05-10 08:00", site=where),
    ]


@pytest.mark.parametrize("kind", BAD)
@pytest.mark.parametrize(
    ("zone", "at", "where"),
    [
        ("Asia/Tokyo", "2026-05-09 22:30", "dock"),
        ("Europe/Berlin", "2026-05-09 23:00", "dock"),
        ("Europe/London", "2026-05-09 23:30", "mesa"),
        ("Asia/Tokyo", "2026-05-10 00:00", "dock"),
    ],
)
async def test_bad_news_of_a_day_moves_to_where_the_unit_turns_out_to_have_been(
    kind: str, zone: str, at: str, where: str, ledger: Ledger, owner_url: str
) -> None:
    """It counts as the day began there, though what tells of that comes after it in the fold."""
    receipts = await post(ledger, named(told(kind, zone, at, where)))
    assert {one.status for one in receipts} == {201}
    await hold_to_a_rebuild(owner_url)


@pytest.mark.parametrize("last", [-1, -2])
async def test_whichever_comes_first_the_unit_stays_withdrawn(last: int, ledger: Ledger, owner_url: str) -> None:
    """A release on what lies before the failure, where that counts in the end, has no ground."""
    proofs = [
        examine("2026-05-09 22:40", received="2026-05-10 08:10"),
        check("2026-05-09 22:45", received="2026-05-10 08:15"),
        tell("released", "2026-05-09 22:50", by="rel-1", received="2026-05-10 08:20"),
    ]
    every = told("failed-in-use")
    first, second = every[last], every[-3 - last]
    receipts = await post(ledger, named([*every[:-2], second, first, *proofs]))
    asset = receipts[-1].asset
    assert asset is not None
    assert (asset["phase"], asset["do_not_use"]) == ("quarantined", True)
    await hold_to_a_rebuild(owner_url)


@pytest.mark.parametrize("kind", BAD)
async def test_a_day_that_has_not_begun_where_the_unit_is_counts_as_it_is_received(
    kind: str, ledger: Ledger, owner_url: str
) -> None:
    """At half past midnight in UTC it is still yesterday in the west: the unit is not in use until tomorrow (3.6)."""
    west = [
        *FIRM,
        register("2026-05-01 08:00", site="mesa"),
        examine("2026-05-02 08:00", site="mesa"),
        issue("2026-05-02 09:00", site="mesa"),
        tell(kind, DAY, received="2026-05-10 00:30", **BAD[kind]),
    ]
    receipts = await post(ledger, named(west))
    assert receipts[-1].status == 201
    assert receipts[-1].asset is not None
    assert receipts[-1].asset["do_not_use"]
    await hold_to_a_rebuild(owner_url)


@pytest.mark.parametrize("kind", BAD)
async def test_a_day_that_moves_behind_its_receipt_counts_as_it_is_received_all_the_same(
    kind: str, ledger: Ledger, owner_url: str
) -> None:
    """A unit of the east turns out to have been in the west: the unit stays as its receipts said."""
    moved = told(kind, at="2026-05-09 20:00", where="mesa")
    receipts = await post(ledger, named(moved))
    assert receipts[-1].asset is not None
    for at in ("2026-05-10 06:00", "2026-05-10 07:00", "2026-05-10 08:00"):
        unit = msgspec.to_builtins(
            await assess.asset(ledger, caller_of("office"), "A-1", as_at=moment(at), known_at=None)
        )
        assert unit["do_not_use"], at
    await hold_to_a_rebuild(owner_url)


@pytest.mark.parametrize(
    ("first", "after"),
    [
        (issue("2026-05-10 06:04", site="east"), tell("quarantined", "2026-05-10 06:05", reason="damage")),
        (issue("2026-05-09 20:00", site="east"), tell("quarantined", DAY, reason="damage")),
    ],
    ids=["ahead", "day"],
)
async def test_what_is_told_later_in_a_batch_contradicts_nothing_told_before_it(
    first: Posted, after: Posted, ledger: Ledger, owner_url: str
) -> None:
    """A conflict is as known when it was recorded, though the bad news counts before what was told first."""
    before = [*FIRM, site("east", "uk", "Asia/Tokyo"), register("2026-05-01 08:00", site="east")]
    before += [examine("2026-05-02 08:00", site="east"), check("2026-05-09 19:00", site="east")]
    every = named([*before, first, after])
    await post(ledger, every[:-2])
    batch = [replace(one, received_at=moment("2026-05-10 06:01"), sent_at=None) for one in every[-2:]]
    receipts = await post_together(ledger, batch)
    assert [(one.status, one.conflicts) for one in receipts] == [(201, ()), (201, ())]
    await hold_to_a_rebuild(owner_url)


async def test_of_two_days_of_a_batch_the_second_contradicts_nothing_of_the_first(ledger: Ledger) -> None:
    """In the west the first is not over, and the second has not begun, when both are received."""
    before = [*FIRM, register("2026-05-01 08:00", site="mesa"), examine("2026-05-02 08:00", site="mesa")]
    every = named(
        [
            *before,
            check("2026-05-09 08:00", site="mesa"),
            issue("2026-05-09"),
            tell("quarantined", DAY, reason="damage"),
        ]
    )
    await post(ledger, every[:-2])
    batch = [replace(one, received_at=moment("2026-05-10 00:30"), sent_at=None) for one in every[-2:]]
    receipts = await post_together(ledger, batch)
    assert [(one.status, one.conflicts) for one in receipts] == [(201, ()), (201, ())]


async def test_a_day_of_before_a_mark_stays_asked_about_behind_it(
    ledger: Ledger, owner_url: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What comes late is folded from a mark, which knows nothing of the days before it."""
    monkeypatch.setattr(marking, "EVERY", 1)
    said: dict[str, Any] = {"position": "particle-filter", "in_": part("p3", lot="L-1"), "reason": "recall"}
    every = [
        *FIRM,
        register("2026-01-01 08:00"),
        tell("cleaned", "2026-01-03", scope="unit", method="wiped"),
        *(check(f"2026-01-{on} 08:00") for on in range(12, 19)),
        tell("filter-replaced", "2026-01-15 12:00", received="2026-01-19 08:00", **said),
    ]
    receipts = await post(ledger, named(every))
    assert {one.status for one in receipts} == {201}
    await hold_to_a_rebuild(owner_url)


async def test_good_news_that_was_taken_back_asks_of_where_the_unit_was(ledger: Ledger, owner_url: str) -> None:
    """A day that counts for nothing is placed all the same."""
    moved = tell("moved", "2026-01-07", received="2026-01-07 02:00", to_site="works")
    posted = named([*FIRM, register("2026-01-04 08:00", site="dock"), moved])
    void = say("voided", "2026-01-07 02:30", "m-7", event=posted[-1].message["id"], reason="a mistake")
    seen = tell("stationed", "2026-01-05 12:00", received="2026-01-08 02:00", place="cab", site="mesa")
    await post(ledger, [*posted, *named([void, seen], 500)])
    await hold_to_a_rebuild(owner_url)


async def test_what_was_true_then_as_known_then_stays_so(ledger: Ledger) -> None:
    """Of a moment before anything tells of another site: of the unit, and of all of them together."""
    every = named(told("quarantined"))
    known_at = (await post(ledger, every[:-1]))[-1].recorded_at
    moments: dict[str, Any] = {"as_at": moment("2026-05-09 18:00"), "known_at": known_at}

    async def said() -> tuple[object, ...]:
        unit = msgspec.to_builtins(await assess.asset(ledger, caller_of("office"), "A-1", **moments))
        summary = msgspec.to_builtins(await assess.compliance(ledger, caller_of("office"), **moments))
        return unit["phase"], unit["do_not_use"], summary["total"]["by_standing"], summary["total"]["by_phase"]

    before = await said()
    assert before[:2] == ("quarantined", True)
    await post(ledger, every[-1:])
    assert await said() == before


async def test_days_of_a_retired_unit_move_behind_a_mark_that_it_reaches_as_it_was(
    ledger: Ledger, owner_url: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nothing changes a retired unit, so every mark is reached; where it is said to have been counts all the same."""
    monkeypatch.setattr(marking, "EVERY", 1)
    days = [
        "2026-01-07 08:00",
        "2026-01-08 08:00",
        "2026-01-09 08:00",
        "2026-01-10 08:00",
        "2026-01-12",
        "2026-01-13 12:00",
    ]
    every = [
        *FIRM,
        register("2026-01-05 08:00"),
        tell("retired", "2026-01-06 08:00", by="m-1", reason="worn-out"),
        *(tell("cleaned", day, scope="unit", method="wiped", received="2026-01-14 08:00") for day in days),
        tell("stationed", "2026-01-08 08:30", received="2026-01-14 10:00", place="cab", site="mesa"),
    ]
    receipts = await post(ledger, named(every))
    assert {one.status for one in receipts} == {201}
    await hold_to_a_rebuild(owner_url)
