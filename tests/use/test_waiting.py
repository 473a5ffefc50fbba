"""Messages that name what is not known yet."""

import pytest

from service.ledger import Ledger
from tests.oracle.firm import FIRM, site
from tests.oracle.posting import Posted, say
from tests.use.posting import post, post_together

UNIT = "0198c1f2-7a10-7c3e-9b55-000000000001"
CHECK = "0198c1f2-7a10-7c3e-9b55-000000000002"


def named(posted: list[Posted], first: int = 1) -> list[Posted]:
    """Give messages of the firm's set-up ids of their own, counted from the first."""
    return [
        Posted({"id": f"01800000-0000-7000-8000-{number:012x}", **one.message}, one.received_at, one.sent_at)
        for number, one in enumerate(posted, first)
    ]


def unit() -> Posted:
    """Register a unit."""
    return say("registered", "2026-03-02 06:00", asset="W-1", id=UNIT, model="hood", serial="S-1", site="dock")


def check() -> Posted:
    """Check it."""
    return say("cleaned", "2026-03-02 06:30", asset="W-1", scope="unit", method="wiped", id=CHECK)


async def test_a_message_waits_for_its_unit(ledger: Ledger) -> None:
    """One that names an unknown unit is refused, and accepted by the commit that brings the unit."""
    await post(ledger, named(FIRM))
    first, second, again = await post(ledger, [check(), unit(), check()])
    assert (first.status, first.problem is not None and first.problem.code) == (422, "unknown-reference")
    assert (second.status, second.seq) == (201, len(FIRM) + 1)
    assert (again.status, again.outcome, again.seq) == (200, "repeated", len(FIRM) + 2)


async def test_a_message_before_its_unit_in_one_batch_is_accepted(ledger: Ledger) -> None:
    """In one call it need not wait: what comes later in the call brings it in."""
    await post(ledger, named(FIRM))
    first, second = await post_together(ledger, [check(), unit()])
    assert (first.status, second.status) == (201, 201)
    assert (second.seq, first.seq) == (len(FIRM) + 1, len(FIRM) + 2)


@pytest.mark.parametrize("order", [(0, 1), (1, 0)], ids=("unit first", "site first"))
async def test_a_message_waits_for_all_that_is_missing(ledger: Ledger, order: tuple[int, int]) -> None:
    """Of two things that are not defined both are named, and the message is accepted once the second has come."""
    await post(ledger, named(FIRM))
    move = say("moved", "2026-03-02 07:00", asset="W-1", to_site="quay", site="dock", id=CHECK)
    [first] = await post(ledger, [move])
    missing = [unit(), *named([site("quay", "uk", "Europe/London")], 900)]
    brought = [(await post(ledger, [missing[place]]))[0].seq or 0 for place in order]
    [again] = await post(ledger, [move])

    assert first.problem is not None
    assert [fault.pointer for fault in first.problem.errors] == ["/asset", "/to_site"]
    assert (again.status, again.seq) == (200, brought[1] + 1)
