"""An order of ours, as a document."""

from datetime import date
from decimal import Decimal

import pytest
from msgspec.structs import replace

from service.domain.errors import BadDocument
from service.domain.kinds.order_placed import OrderLine, OrderPlaced
from service.outbound.ubl.documents import Order
from service.outbound.ubl.events.ordered import as_document
from service.outbound.ubl.parts import Delivery, Party
from service.outbound.ubl.reading import read
from service.outbound.ubl.writing import written
from tests.outbound.ubl_documents import BUYER, ISSUED, SUPPLIER
from tests.outbound.ubl_schemas import faults
from tests.outbound.ubl_trade import GOODS, PLACED

LINE = PLACED.lines[0]


def ordered(placed: OrderPlaced) -> Order:
    """Write an order to be delivered at a gate."""
    there = Delivery(name="Gate 3", latest=date(2027, 1, 1))
    return as_document(placed, GOODS, issued_on=ISSUED, buyer=BUYER, supplier=SUPPLIER, delivery=there)


def test_an_order_says_what_its_event_says() -> None:
    """Number, proposal, parties, place, day and lines are the event's; items have all their numbers, lines a total."""
    told = ordered(PLACED)
    assert (told.id, told.proposal, told.issued_on, told.currency) == ("PO/2026/0071", "pr-0071", ISSUED, "GBP")
    assert (told.buyer, told.supplier.id, told.supplier.name) == (BUYER, "sup-4", "Filters & Fans <Nord>")
    assert told.delivery == Delivery(site="harrow-dock", name="Gate 3", latest=date(2026, 12, 9))
    filters, tube = told.lines
    assert (filters.id, filters.quantity.value, filters.quantity.unit) == ("10", Decimal(60), "C62")
    assert filters.price is not None
    assert filters.total is not None
    assert (filters.price.amount, filters.price.per, filters.total.amount) == (Decimal("4.6"), None, Decimal(276))
    assert (filters.item.item, filters.item.gtin, filters.item.part_number, filters.item.name) == (
        *("pf-170", "9521101530018", "170-220"),
        "Filter pf-170",
    )
    assert (tube.id, str(tube.quantity.value), tube.quantity.unit, tube.price) == ("20", "2.5", "MTR", None)
    assert read(written(told), Order).document == told


def test_an_order_is_valid() -> None:
    """What an event becomes is valid under the published schema."""
    assert faults(written(ordered(PLACED))) == []


def test_what_an_event_does_not_tell_is_the_callers() -> None:
    """Without supplier, site and day in the event those of the caller stand; a place that says nothing is left out."""
    bare = replace(
        PLACED, supplier=None, site=None, expected_on=None, lines=(replace(LINE, price=None, currency=None),)
    )
    told = ordered(bare)
    assert (told.supplier.id, told.currency, told.delivery) == (
        "sup-4",
        None,
        Delivery(name="Gate 3", latest=date(2027, 1, 1)),
    )
    assert as_document(bare, GOODS, issued_on=ISSUED, buyer=Party(), supplier=Party()).delivery is None


@pytest.mark.parametrize(
    ("lines", "found"),
    [
        ((), [("/lines", "is needed: an order says what it orders")]),
        ((replace(LINE, item="pf-999"),), [("/lines/0/item", "pf-999 is no item that is defined here")]),
        ((LINE, replace(LINE, line="2", quantity=0.0)), [("/lines/1/quantity", "orders nothing: leave the line out")]),
        (
            (replace(LINE, quantity=1.23456),),
            [("/lines/0/quantity", "a quantity is 0 to 1000000 with at most 4 decimals")],
        ),
        (
            (replace(LINE, unit="CT"),),
            [("/lines/0/unit", "CT is a package and no unit: as a unit it is XCT (UN/ECE Recommendation 21)")],
        ),
        (
            (replace(LINE, currency="BGX"),),
            [("/lines/0/currency", "BGX is no currency in use (ISO 4217); send a code such as GBP, EUR or USD")],
        ),
        (
            (LINE, replace(LINE, line="2", currency="EUR")),
            [("/lines", "has prices in GBP, EUR: a document has one currency")],
        ),
        (
            (replace(LINE, quantity=1_000_000.0, price=Decimal(1_000_000)),),
            [("/lines/0/price", "an amount is 0 to 1000000000, written plainly with at most 4 decimals")],
        ),
    ],
)
def test_what_no_document_can_say_is_told_of_the_event(
    lines: tuple[OrderLine, ...], found: list[tuple[str, str]]
) -> None:
    """Faults have the pointer of the field in the event."""
    with pytest.raises(BadDocument) as error:
        ordered(replace(PLACED, lines=lines))
    assert [(fault.pointer, fault.detail) for fault in error.value.faults] == found
