"""Messages that name what is not known yet."""

from service.ledger import Ledger
from tests.oracle.firm import FIRM
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
