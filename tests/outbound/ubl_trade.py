"""A firm that orders, for the tests: its items, an order of it, and the lines of those who answer."""

from datetime import date
from decimal import Decimal
from typing import Any
from uuid import UUID

from service.domain.kinds.item_defined import ItemDefined
from service.domain.kinds.order_placed import OrderLine, OrderPlaced
from service.outbound.ubl.documents import (
    DespatchAdvice,
    DespatchLine,
    OrderResponse,
    ReceiptAdvice,
    ReceiptLine,
    ResponseLine,
)
from service.outbound.ubl.events.goods import goods_of
from service.outbound.ubl.parts import Item, OrderLineRef, Party
from tests.outbound.ubl_documents import BUYER, ISSUED, SUPPLIER, many

FIRM = UUID("6f8a2f1c-0d3b-4f55-9a1e-2b1f4a7c9e01")
ID = UUID("6f8a2f1c-0d3b-4f55-9a1e-2b1f4a7c9e02")
ORDER = "PO/2026/0071"
REPEATED: dict[str, Any] = {"id": ID, "occurred_on": ISSUED, "by": "u-1"}


def item(ref: str, **told: Any) -> ItemDefined:
    """Define an item that is counted in ones."""
    return ItemDefined(**{**REPEATED, "item": ref, "name": f"Filter {ref}", "unit": "C62"} | told)


GOODS = goods_of(
    [
        item("pf-170", gtin="9521101530018", part_number="170-220"),
        item("pf-171", gtin="96385074", part_number="171-1"),
        item("tube", part_number="T-1", unit="MTR"),
        item("seal-a", part_number="S-9"),
        item("seal-b", part_number="S-9"),
    ]
)
PLACED = OrderPlaced(
    **REPEATED,
    proposal="pr-0071",
    order=ORDER,
    supplier="sup-4",
    expected_on=date(2026, 12, 9),
    site="harrow-dock",
    lines=(
        OrderLine(line="10", item="pf-170", quantity=60.0, unit="C62", price=Decimal("4.60"), currency="GBP"),
        OrderLine(line="20", item="tube", quantity=2.5, unit="MTR"),
    ),
)


def answers(line: str = "10", order: str | None = ORDER) -> OrderLineRef:
    """Name a line of the order."""
    return OrderLineRef(line=line, order=order)


LINE: dict[str, Any] = {"id": "1", "item": Item(), "answers": answers()}


def response(code: str | None, *lines: ResponseLine, **told: Any) -> OrderResponse:
    """Answer the order."""
    head: dict[str, Any] = {"id": "OR-7", "issued_on": ISSUED, "order": ORDER, "supplier": SUPPLIER, "buyer": BUYER}
    return OrderResponse(**head | {"response": code, "lines": lines} | told)


def said(**told: Any) -> ResponseLine:
    """Answer the first line."""
    return ResponseLine(**LINE | told)


def despatch(*lines: DespatchLine, **told: Any) -> DespatchAdvice:
    """Send something of the order."""
    head: dict[str, Any] = {"id": "DA-3", "issued_on": ISSUED, "orders": (ORDER,), "supplier": SUPPLIER, "buyer": BUYER}
    return DespatchAdvice(**head | {"lines": lines} | told)


def sent(number: str, **told: Any) -> DespatchLine:
    """Send so many of the first line."""
    line: dict[str, Any] = {"id": "1", "despatched": many(number), "answers": answers(), "item": Item(item="pf-170")}
    return DespatchLine(**line | told)


def receipt(*lines: ReceiptLine, **told: Any) -> ReceiptAdvice:
    """Receive something of the order."""
    head: dict[str, Any] = {"id": "RA-1", "issued_on": ISSUED, "orders": (ORDER,), "supplier": Party(), "buyer": BUYER}
    return ReceiptAdvice(**head | {"lines": lines} | told)


def came(number: str, **told: Any) -> ReceiptLine:
    """Receive so many of the first line."""
    line: dict[str, Any] = {"id": "1", "received": many(number), "answers": answers(), "item": Item(item="pf-170")}
    return ReceiptLine(**line | told)
