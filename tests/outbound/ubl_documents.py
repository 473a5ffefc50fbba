"""Documents for the tests: one of each sort that says all it can, and the least of each."""

from datetime import date
from decimal import Decimal

from service.outbound.ubl.documents import (
    DespatchAdvice,
    DespatchLine,
    Document,
    Order,
    OrderLine,
    OrderResponse,
    ReceiptAdvice,
    ReceiptLine,
    ResponseLine,
)
from service.outbound.ubl.parts import (
    Address,
    Delivery,
    DespatchLineRef,
    Instance,
    Item,
    Measure,
    OrderLineRef,
    Party,
    Price,
    Shipment,
    Total,
)

ISSUED = date(2026, 11, 25)
BUYER = Party(
    id="harrow", name="Harrow Fabrication", address=Address(lines=("1 Dock Road", "Harrow Dock"), country="GB")
)
SUPPLIER = Party(
    id="sup-4",
    name="Filters & Fans <Nord>",
    address=Address(street="Quay 4", city="Kiel", postcode="24103", region="Nord"),
)
DELIVERY = Delivery(
    site="harrow-dock", name="Harrow Dock", address=BUYER.address, earliest=date(2026, 12, 1), latest=date(2026, 12, 9)
)
ITEM = Item(
    name="Particle filter 170",
    item="pf-170",
    part_number="170-220",
    gtin="9521101530018",
    instances=(Instance(lot="L2411", expires=date(2029, 5, 31)), Instance(serial="S-1", lot="L2412")),
)
SHIPMENT = Shipment(id="sh-9", delivery=DELIVERY, despatched_on=date(2026, 11, 30))


def many(number: str) -> Measure:
    """Count in ones."""
    return Measure(value=Decimal(number), unit="C62")


FULL: tuple[Document, ...] = (
    Order(
        id="PO/2026/0071",
        issued_on=ISSUED,
        note="Ring at gate 3.\nThen wait.",
        currency="GBP",
        proposal="pr-0071",
        buyer=BUYER,
        supplier=SUPPLIER,
        delivery=DELIVERY,
        lines=(
            OrderLine(
                id="10",
                note="in boxes",
                quantity=many("60"),
                total=Total(amount=Decimal(276), currency="GBP"),
                price=Price(amount=Decimal("18.4"), currency="GBP", per=many("4")),
                item=ITEM,
            ),
        ),
    ),
    OrderResponse(
        id="OR-7",
        issued_on=ISSUED,
        response="CA",
        note="partly",
        currency="GBP",
        order="PO/2026/0071",
        supplier=SUPPLIER,
        buyer=BUYER,
        delivery=DELIVERY,
        lines=(
            ResponseLine(
                id="1",
                note="the rest in January",
                status="3",
                quantity=many("40"),
                total=Total(amount=Decimal(184), currency="GBP"),
                backorder=many("20"),
                delivery=Delivery(latest=date(2026, 12, 9)),
                price=Price(amount=Decimal("4.6"), currency="GBP"),
                item=ITEM,
                answers=OrderLineRef(line="10", order="PO/2026/0071"),
            ),
        ),
    ),
    DespatchAdvice(
        id="DA-3",
        issued_on=ISSUED,
        note="two boxes",
        orders=("PO/2026/0071", "PO/2026/0072"),
        supplier=SUPPLIER,
        buyer=BUYER,
        shipment=SHIPMENT,
        lines=(
            DespatchLine(
                id="1",
                note="as agreed",
                despatched=many("40"),
                backorder=many("12"),
                backorder_reason="none in store",
                outstanding=many("8"),
                outstanding_reason="with the next lorry",
                answers=OrderLineRef(line="10", order="PO/2026/0071"),
                item=ITEM,
            ),
        ),
    ),
    ReceiptAdvice(
        id="RA-1",
        issued_on=ISSUED,
        note="wet",
        orders=("PO/2026/0071",),
        despatches=("DA-3",),
        buyer=BUYER,
        supplier=SUPPLIER,
        shipment=SHIPMENT,
        lines=(
            ReceiptLine(
                id="1",
                note="one box",
                received=many("36"),
                short=many("2"),
                rejected=many("2.5"),
                reject_reason="wet through",
                received_on=date(2026, 12, 2),
                answers=OrderLineRef(line="10", order="PO/2026/0071"),
                despatched=DespatchLineRef(line="1", despatch="DA-3"),
                item=ITEM,
            ),
        ),
    ),
)

LEAST: tuple[Document, ...] = (
    Order(
        id="PO-1",
        issued_on=ISSUED,
        buyer=Party(),
        supplier=Party(),
        lines=(OrderLine(id="1", quantity=many("1"), item=Item(item="pf-170")),),
    ),
    OrderResponse(id="OR-1", issued_on=ISSUED, order="PO-1", supplier=Party(), buyer=Party()),
    DespatchAdvice(
        id="DA-1",
        issued_on=ISSUED,
        supplier=Party(),
        buyer=Party(),
        lines=(DespatchLine(id="1", despatched=many("1"), answers=OrderLineRef(line="1"), item=Item()),),
    ),
    ReceiptAdvice(
        id="RA-1",
        issued_on=ISSUED,
        supplier=Party(),
        buyer=Party(),
        lines=(ReceiptLine(id="1", received=many("1"), answers=OrderLineRef(line="1")),),
    ),
)
