"""Bad news that was received before its moment: it counts at both, and is one thing that happened."""

from typing import Any, Final

import msgspec
import pytest

from service import assess, recalls
from service.assessing.moment import asked
from service.domain import marking
from service.ledger import Ledger
from tests.oracle.firm import FIRM, check, examine, fails, issue, part, register, tell
from tests.oracle.posting import Posted, moment, say
from tests.use.posting import caller_of, post
from tests.use.rebuilt import hold_to_a_rebuild
from tests.use.test_recall_progress import differing
from tests.use.test_waiting import named

OFFICE: Final = caller_of("office")
CRITERIA: Final = [{"item": "p3", "lot": "L-9"}]


def begun(where: str) -> list[Posted]:
    """Register a unit with the bad lot, examine and issue it."""
    parts = [{"position": "particle-filter", "part": part("p3", lot="L-9")}]
    return [
        *FIRM,
        register("2026-05-01 08:00", site=where, parts=parts),
        examine("2026-05-01 09:00", site=where),
        issue("2026-05-01 10:00", site=where),
    ]


def opened(at: str, **fields: Any) -> Posted:
    """Open the recall of the lot."""
    return say("recall-opened", at, "m-1", recall="rc-1", criteria=CRITERIA, **{"action": "stop-use"} | fields)


async def told(ledger: Ledger, at: str) -> Any:
    """Tell of the recall, and of its unit, as at a moment."""
    as_at = moment(at)
    listed = await recalls.listed(ledger, OFFICE, as_at=as_at, known_at=None, after=None, limit=9)
    [unit] = (await recalls.impact(ledger, OFFICE, "rc-1", recalls.Wanted(as_at=as_at))).items
    return msgspec.to_builtins(listed.items)[0] | {"unit": msgspec.to_builtins(unit)}


@pytest.mark.parametrize("every", [1, 64])
async def test_what_was_marked_before_it_stays_marked(
    every: int, ledger: Ledger, owner_url: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A rebuild marks the same places as a fold that went on."""
    monkeypatch.setattr(marking, "EVERY", every)
    washed = [tell("cleaned", f"2026-05-{on:02} 08:00", scope="unit", method="wiped") for on in range(2, 30)]
    bad = check("2026-05-30 08:00:01", points=fails("alarm"), received="2026-05-30 08:00")
    await post(ledger, named([*begun("dock"), *washed, bad]))
    await hold_to_a_rebuild(owner_url)


@pytest.mark.parametrize(
    ("where", "at", "received"),
    [("dock", "2026-05-05 10:04", "2026-05-05 10:00"), ("mesa", "2026-05-05", "2026-05-05 00:30")],
    ids=["stamp", "day"],
)
async def test_an_order_stops_a_unit_when_it_is_received_whatever_becomes_of_it(
    where: str, at: str, received: str, ledger: Ledger
) -> None:
    """As long as it is held, once it is released, and day by day."""
    order = tell("quarantined", at, reason="recall", recall="rc-1", received=received)
    every = [*begun(where), opened("2026-05-04 09:00"), order]
    ends = [
        tell("recall-actioned", "2026-05-05 12:00", recall="rc-1", result="not-affected", by="m-1"),
        tell("released", "2026-05-05 13:00", by="rel-1"),
    ]
    await post(ledger, named(every))
    held = await told(ledger, "2026-05-05 11:00")
    await post(ledger, named(ends, 900))
    free = await told(ledger, "2026-05-05 14:00")
    stopped = f"{received.replace(' ', 'T')}:00Z"
    assert (held["unit"]["stopped_at"], free["unit"]["stopped_at"]) == (stopped, stopped)
    assert (held["unit"]["do_not_use"], free["unit"]["do_not_use"]) == (True, False)
    async with asked(ledger, OFFICE) as question:
        assert await differing(question, "rc-1", moment("2026-05-06 14:00")) == []


@pytest.mark.parametrize("rehearsal", [False, True])
async def test_a_recall_that_was_closed_does_not_begin_anew_at_its_stamp(
    ledger: Ledger, owner_url: str, *, rehearsal: bool
) -> None:
    """It was opened once, when it was received: that is what was closed."""
    opening = opened("2026-05-05 10:04", received="2026-05-05 10:00", rehearsal=rehearsal)
    closing = say(
        "recall-closed", "2026-05-05 10:02", "m-1", recall="rc-1", outstanding=[{"asset": "A-1", "reason": "later"}]
    )
    receipts = await post(ledger, named([*begun("dock"), opening, closing]))
    assert {one.status for one in receipts} == {201}
    for at in ("2026-05-05 10:03", "2026-05-05 10:05"):
        told_then = await told(ledger, at)
        assert (told_then["opened_at"], told_then["closed_at"]) == ("2026-05-05T10:00:00Z", "2026-05-05T10:02:00Z")
    await hold_to_a_rebuild(owner_url)


@pytest.mark.parametrize("rehearsal", [False, True])
async def test_a_recall_reaches_what_was_folded_since_it_was_received(
    ledger: Ledger, owner_url: str, *, rehearsal: bool
) -> None:
    """What lies between its receipt and its stamp is judged again."""
    swap: dict[str, Any] = {"position": "particle-filter", "in_": part("p3", lot="L-1"), "reason": "recall"}
    every = [
        *begun("dock"),
        tell("filter-replaced", "2026-05-05 12:03", received="2026-05-05 12:00", **swap),
        opened("2026-05-05 12:05", received="2026-05-05 12:01", rehearsal=rehearsal),
    ]
    receipts = await post(ledger, named(every))
    assert {one.status for one in receipts} == {201}
    await hold_to_a_rebuild(owner_url)


async def test_what_proves_a_unit_fit_in_between_frees_it_until_the_moment_itself(
    ledger: Ledger, owner_url: str
) -> None:
    """Each of the two needs ground that is later."""
    every = [
        *begun("dock"),
        check("2026-05-05 10:04", points=fails("alarm"), received="2026-05-05 10:00"),
        examine("2026-05-05 10:01", received="2026-05-05 10:01"),
        tell("released", "2026-05-05 10:02", by="rel-1", received="2026-05-05 10:02"),
    ]
    await post(ledger, named(every))
    phases = {}
    for at in ("10:00", "10:03", "10:04"):
        unit = await assess.asset(ledger, OFFICE, "A-1", as_at=moment(f"2026-05-05 {at}"), known_at=None)
        phases[at] = msgspec.to_builtins(unit)["phase"]
    assert phases == {"10:00": "quarantined", "10:03": "in-store", "10:04": "quarantined"}
    await hold_to_a_rebuild(owner_url)
