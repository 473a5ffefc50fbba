"""Examples of documents that answer an order: that of the kind `order-placed`, which tests have placed before."""

from datetime import date
from decimal import Decimal
from typing import Any, Final

from service.http.negotiation import CSV, TEXT_XML, XML
from service.outbound.ubl.documents import (
    DespatchAdvice,
    DespatchLine,
    OrderResponse,
    ReceiptAdvice,
    ReceiptLine,
    ResponseLine,
)
from service.outbound.ubl.parts import Delivery, Instance, Item, Measure, OrderLineRef, Party, Shipment
from service.outbound.ubl.writing import written

Json = dict[str, Any]

ORDER: Final = "PO/2026/0071"
LINE: Final = OrderLineRef(line="10", order=ORDER)
BUYER: Final = Party(name="Harrow Fabrication")
SUPPLIER: Final = Party(id="sup-4")


def pieces(number: int) -> Measure:
    """Count in ones."""
    return Measure(value=Decimal(number), unit="C62")


RESPONSE: Final = OrderResponse(
    id="OR-7",
    issued_on=date(2026, 3, 4),
    response="CA",
    order=ORDER,
    supplier=SUPPLIER,
    buyer=BUYER,
    lines=(
        ResponseLine(
            id="1",
            note="the rest in May",
            status="3",
            quantity=pieces(40),
            backorder=pieces(20),
            delivery=Delivery(latest=date(2026, 3, 20)),
            item=Item(item="pf-170"),
            answers=LINE,
        ),
    ),
)
DESPATCH: Final = DespatchAdvice(
    id="DA-3",
    issued_on=date(2026, 3, 17),
    orders=(ORDER,),
    supplier=SUPPLIER,
    buyer=BUYER,
    shipment=Shipment(id="SH-9", delivery=Delivery(site="harrow-dock", latest=date(2026, 3, 20))),
    lines=(
        DespatchLine(
            id="1",
            despatched=pieces(40),
            backorder=pieces(20),
            answers=LINE,
            item=Item(item="pf-170", instances=(Instance(lot="L2411", expires=date(2029, 5, 31)),)),
        ),
    ),
)
RECEIPT: Final = ReceiptAdvice(
    id="RA-1",
    issued_on=date(2026, 3, 19),
    orders=(ORDER,),
    despatches=("DA-3",),
    buyer=BUYER,
    supplier=SUPPLIER,
    shipment=Shipment(id="SH-9", delivery=Delivery(site="harrow-dock", done_on=date(2026, 3, 19))),
    lines=(
        ReceiptLine(
            id="1",
            received=pieces(40),
            rejected=pieces(4),
            reject_reason="wet through",
            answers=LINE,
            item=Item(item="pf-170", instances=(Instance(lot="L2411", expires=date(2029, 5, 31)),)),
        ),
    ),
)
TABLE: Final = (
    "id,issued_on,orders,shipment.id,shipment.delivery.site,line.id,line.received.value,line.received.unit,"
    "line.answers.line,line.item.item,line.item.instances.lot\r\n"
    f"RA-2,2026-03-23,{ORDER},SH-9,harrow-dock,1,20,C62,10,pf-170,L2412\r\n"
)


def example(summary: str, value: str) -> Json:
    """Give an example as the description has it."""
    return {"summary": summary, "value": value}


UBL: Final = {
    "order-response": example("A supplier can deliver two thirds.", written(RESPONSE).decode()),
    "despatch-advice": example("Two thirds are on their way.", written(DESPATCH).decode()),
    "receipt-advice": example("They came, and four were refused.", written(RECEIPT).decode()),
}
EXAMPLES: Final[dict[str, dict[str, Json]]] = {
    XML: UBL,
    TEXT_XML: {"receipt-advice": UBL["receipt-advice"]},
    CSV: {"receipt-advice": example("The rest came.", TABLE)},
}
"""By the form in which they are sent."""
