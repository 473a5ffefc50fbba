"""What an order that is asked for must say."""

from decimal import Decimal
from typing import Any

import pytest
from msgspec.structs import replace

from service.domain.errors import Malformed
from service.domain.kinds.item_defined import ItemDefined
from service.domain.kinds.order_placed import OrderLine
from service.domain.ordering.asked import Placing, demand_of
from service.domain.value import FieldError
from tests.domain.reference_data import day, item

FILTER = item(day(1)).event
ODD = OrderLine(line="20", item="battery", quantity=0.0, unit="XBX", price=Decimal("1.00"), currency="ZZZ")
OTHER = ("/lines/1/item", "The proposal is for 'filter': order other items by their own proposals.")
BOXES = ("/lines/1/unit", "The item is counted in 'C62': say the quantity in that unit.")
NO_MONEY = ("/lines/1/currency", "'ZZZ' is no code of ISO 4217.")
NOTHING = ("/lines", "An order of nothing: say in lines what was ordered.")
TOO_MANY = ("/lines", "They come to 1000001: an order is of at most 1000000. Say in lines what was ordered.")


def line(quantity: float, **fields: Any) -> OrderLine:
    """Ask for filters."""
    return OrderLine(line="10", item="filter", quantity=quantity, unit="C62", **fields)


def wrong(lines: list[OrderLine]) -> list[tuple[str | None, str]]:
    """Ask for them, and give what is wrong, each with its place."""
    assert isinstance(FILTER, ItemDefined)
    try:
        demand_of(FILTER, lines)
    except Malformed as found:
        return [(one.pointer, one.detail) for one in found.faults]
    return []


@pytest.mark.parametrize(
    ("lines", "told"),
    [
        ([line(4)], []),
        ([line(4, price=Decimal("1.00"), currency="GBP")], []),
        ([line(0)], [NOTHING]),
        ([line(1_000_000), line(0)], []),
        ([line(1_000_000), line(1)], [TOO_MANY]),
        ([line(0), ODD], [OTHER, BOXES, NO_MONEY]),
        ([line(1_000_000), replace(ODD, quantity=1.0)], [OTHER, BOXES, NO_MONEY]),
    ],
)
def test_an_order_says_how_much_of_the_item_in_its_unit_and_in_money(
    lines: list[OrderLine], told: list[tuple[str, str]]
) -> None:
    """More than nothing, and no more than there may be, which is said where nothing else is wrong."""
    assert wrong(lines) == told


def test_a_line_stands_once() -> None:
    """The second of one name is told, at its place."""
    with pytest.raises(FieldError) as told:
        Placing(by="p-1", order="PO-1", lines=(line(1), line(2)))
    assert (told.value.field, told.value.detail) == ("lines/1/line", "10 is named twice")
