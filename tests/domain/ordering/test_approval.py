"""How far an approval goes."""

from datetime import UTC, datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

import pytest

from service.domain.kinds.order_placed import OrderLine
from service.domain.ordering.approval import Approval
from service.domain.ordering.authority import Cost
from service.domain.ordering.order import Deed

DEED = Deed("p-1", datetime(2026, 3, 2, 9, tzinfo=UTC), UUID(int=1), 1)
EACH = Cost(Decimal("18.40"), "GBP")


def approval(quantity: float | None = 60.0, price: Cost | None = EACH, item: str | None = "pf") -> Approval:
    """Approve sixty filters at 18.40 pounds, which are 1,104.00."""
    return Approval(DEED, quantity, within_cap=False, price=price, site="dock", item=item)


def line(quantity: float, price: str | None = None, currency: str = "GBP", **fields: Any) -> OrderLine:
    """Give a line of an order."""
    given: dict[str, Any] = {"line": "10", "item": "pf", "unit": "C62"} | fields
    money: dict[str, Any] = {} if price is None else {"price": Decimal(price), "currency": currency}
    return OrderLine(quantity=quantity, **money, **given)


def test_it_is_for_so_much_money() -> None:
    """Quantity times price, to the penny; without either nobody set a bound."""
    assert approval().cost == Cost(Decimal("1104.00"), "GBP")
    assert approval(0.1, Cost(Decimal("0.20"), "GBP")).cost == Cost(Decimal("0.02"), "GBP")
    assert [one.cost for one in (approval(None), approval(price=None), approval(None, None))] == [None, None, None]


@pytest.mark.parametrize(
    ("lines", "beyond"),
    [
        ([], None),
        ([line(60)], None),
        ([line(0.1), line(59.9, line="20")], None),
        ([line(60.0000000001)], None),  # nine decimals count
        ([line(60.5)], "60.5 are more than the 60 that were approved"),
        ([line(30), line(31, line="20")], "61 are more than the 60 that were approved"),
        ([line(1, item="bat")], "nobody approved bat"),
        ([line(1), line(1, item="pre"), line(1, item="bat")], "nobody approved bat or pre"),
        ([line(60, "18.40")], None),
        ([line(60, "18.41")], "1104.60 GBP are beyond the 1104.00 GBP that were approved"),
        ([line(10), line(50, "30", line="20")], "1684.00 GBP are beyond the 1104.00 GBP that were approved"),
        ([line(1, "0.01", "EUR")], "0.01 EUR are beyond the 1104.00 GBP that were approved"),
    ],
)
def test_an_order_may_go_beyond_it(lines: list[OrderLine], beyond: str | None) -> None:
    """In its item, in its quantity, or in its money, at the order's own price or else at the one approved."""
    assert approval().exceeded(lines) == beyond


def test_what_was_left_open_bounds_nothing() -> None:
    """No quantity: as many as are ordered, at any price. No price: whatever they cost. No item: of anything."""
    assert approval(None).exceeded([line(500, "99")]) is None
    assert approval(price=None).exceeded([line(60, "99")]) is None
    assert approval(price=None).exceeded([line(61, "99")]) == "61 are more than the 60 that were approved"
    assert approval(item=None).exceeded([line(1, item="bat")]) is None
