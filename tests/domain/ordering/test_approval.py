"""How far an approval goes: for all orders of its proposal together, in the item's unit, and for its money."""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from msgspec.structs import replace

from service.domain.ordering.approval import Approval
from service.domain.ordering.costs import Cost, Wanted
from tests.domain.ordering.books import approved, book, cancelled, line, placed, received
from tests.oracle.posting import Posted

DEED: Any = None
PRICE = Cost(Decimal("18.40"), "GBP")
TEN = Approval(DEED, date(2026, 3, 2), 10.0, within_cap=False, price=PRICE, site="dock", item="pf", unit="C62")
MONDAY, TUESDAY, LATER = "2026-03-02 09:00", "2026-03-03 09:00", "2026-03-04 09:00"


def goods(
    quantity: float, price: str | None = None, unit: str = "C62", currency: str = "GBP", item: str = "pf"
) -> list[Wanted]:
    """Ask for filters."""
    return [Wanted(item, unit, quantity, None if price is None else Cost(Decimal(price), currency))]


@pytest.mark.parametrize(
    ("new", "before", "told"),
    [
        (goods(10), [], None),
        ([], [], None),
        (goods(4), goods(6), None),
        (goods(4, unit="each"), goods(6), None),
        (goods(4.5), goods(6), "10.5, with 6 that were ordered before, are more than the 10 that were approved"),
        ([], goods(6), "16, with 6 that were ordered before, are more than the 10 that were approved"),
        (goods(5, "18.40"), goods(5, "18.40"), None),
        (goods(5), goods(5, "18.41"), "184.05 GBP are beyond the 184.00 GBP that were approved"),
        (goods(0.1), goods(9.9), None),
        (goods(10.0000000001), [], None),  # nine decimals count
        (goods(1, item="bat"), [], "nobody approved bat"),
        (goods(1) + goods(1, item="pre") + goods(1, item="bat"), [], "nobody approved bat or pre"),
        (goods(1, "0.01", currency="EUR"), [], "0.01 EUR are beyond the 184.00 GBP that were approved"),
        (goods(2, unit="XBX"), [], "nobody can say how many C62 so many XBX are, and C62 were approved"),
    ],
)
def test_what_goes_beyond_it_is_told(new: list[Wanted], before: list[Wanted], told: str | None) -> None:
    """Quantities and money of all orders are added up; an order that says no lines is of all that was approved."""
    assert TEN.exceeded(new, before) == told


def test_it_is_for_so_much_money() -> None:
    """Quantity times price; without either nobody set a bound."""
    assert TEN.cost == Cost(Decimal("184.00"), "GBP")
    told = [replace(TEN, quantity=None), replace(TEN, price=None), replace(TEN, quantity=None, price=None)]
    assert [one.cost for one in told] == [None, None, None]


def test_what_was_left_open_bounds_nothing() -> None:
    """No quantity: as many as are ordered, at any price. No price: whatever they cost. No item: of anything."""
    assert replace(TEN, quantity=None).exceeded(goods(500, "99")) is None
    assert replace(TEN, price=None).exceeded(goods(10, "99")) is None
    assert replace(TEN, price=None).exceeded(goods(11, "99")) == "11 are more than the 10 that were approved"
    assert replace(TEN, item=None).exceeded(goods(1, item="bat")) is None


@pytest.mark.parametrize(
    ("posted", "beyond"),
    [
        ([], ["PO-2"]),
        ([cancelled(TUESDAY, "PO-1")], []),
        ([received(TUESDAY, 20.0), cancelled(LATER, "PO-1")], ["PO-2"]),
        ([cancelled(LATER, "PO-2")], []),
        ([approved(LATER, 120.0)], []),
    ],
)
def test_one_approval_is_no_leave_for_two_orders(posted: list[Posted], beyond: list[str]) -> None:
    """Sixty were approved and ordered twice: the second goes beyond it, unless the first came to nothing."""
    found = book(approved(MONDAY, 60.0), placed(MONDAY), placed(TUESDAY, "PO-2"), *posted)
    assert [order.order for order in found.unapproved] == beyond


def test_neither_an_approval_nor_a_cap_is_of_boxes() -> None:
    """Sixty pieces are approved, and sixty boxes ordered: nobody knows how many pieces that is."""
    found = book(approved(MONDAY, 60.0), placed(MONDAY, "PO-1", line(60.0, unit="XBX")))
    assert [order.order for order in found.unapproved] == ["PO-1"]
