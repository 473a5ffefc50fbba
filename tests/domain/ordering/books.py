"""A firm that orders filters: its messages in one line each, and the book that they make."""

from datetime import UTC, datetime
from typing import Any

from service.domain.context import world_of
from service.domain.ordering.book import Book, book_of
from service.domain.ordering.life import Life
from service.domain.ordering.naming import proposal_id
from service.domain.voiding import every_voiding
from tests.domain.folding import keys, recorded
from tests.oracle.firm import PLAIN
from tests.oracle.posting import Posted, log, say

LATER = datetime(2026, 6, 30, tzinfo=UTC)
FIRST, SECOND, THIRD = (proposal_id("dock", "pf", n) for n in range(3))
PAIRS = [("dock", "pf"), ("dock", "bat"), ("yard", "pf")]
START = "2025-01-01 08:00"


def defined(price: str | None = "18.40", at: str = START) -> Posted:
    """Define the filter, at a price in pounds; it may take two hundred days to come."""
    currency = None if price is None else "GBP"
    return say(
        "item-defined", at, item="pf", name="Filter", unit="C62", price=price, currency=currency, lead_time_days=200
    )


def cap(amount: str, at: str = START, currency: str = "GBP", **scope: Any) -> Posted:
    """Let orders of up to an amount go without a manager."""
    values = {"amount": amount, "currency": currency}
    return say("policy-set", at, policy="order-cap", scope={"organisation": True} | scope, values=values)


def approved(at: str, quantity: float | None = 60.0, proposal: str = FIRST, **fields: Any) -> Posted:
    """Approve a proposal as a manager."""
    who = {"key": "chief", "role": "manager"} | fields
    return say("reorder-approved", at, proposal=proposal, quantity=quantity, **who)


def line(quantity: float = 60.0, label: str = "10", item: str = "pf", unit: str = "C62") -> dict[str, Any]:
    """Give a line of an order."""
    return {"line": label, "item": item, "quantity": quantity, "unit": unit}


def placed(at: str, order: str = "PO-1", *lines: dict[str, Any], proposal: str = FIRST, **fields: Any) -> Posted:
    """Place an order, of sixty filters if nothing is said."""
    who = {"key": "erp", "role": "integrator"} | fields
    return say("order-placed", at, proposal=proposal, order=order, lines=list(lines) or [line()], **who)


def cancelled(at: str, order: str = "PO-1", **fields: Any) -> Posted:
    """Call an order off."""
    return say("order-cancelled", at, order=order, reason="the supplier cannot deliver", **fields)


def received(at: str, quantity: float, order: str | None = "PO-1", **fields: Any) -> Posted:
    """Receive filters at the dock."""
    said = {"site": "dock", "item": "pf", "unit": "C62"} | fields
    return say("stock-received", at, quantity=quantity, order=order, **said)


def voided(at: str, label: str) -> Posted:
    """Take back what was posted under a label."""
    return say("voided", at, event=f"@{label}", reason="a mistake", key="chief", role="manager")


def book(*posted: Posted, as_at: datetime = LATER, wanted: tuple[str, ...] = ()) -> Book:
    """Fold what was posted in a firm where the filter has a price and there is no cap."""
    records = log([*PLAIN, defined(), *posted])
    rows = recorded(records)
    return book_of(rows, every_voiding(rows), world_of(rows, keys(records)), as_at, PAIRS, wanted)


def life(*posted: Posted, proposal: str = FIRST, as_at: datetime = LATER) -> Life:
    """Give what became of a proposal."""
    return book(*posted, as_at=as_at).life(proposal)
