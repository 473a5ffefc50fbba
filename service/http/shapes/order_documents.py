"""What suppliers and stores say of orders, as answers tell it."""

from datetime import date
from typing import Annotated, Any, ClassVar, Literal

import msgspec
from msgspec import Meta

from service.documents import MOST_EVENTS
from service.domain.words import MANY, Currency, Expiry, Label, Ref
from service.http.shapes.receipts import BatchResult
from service.http.shapes.reorders import PROPOSAL, Money, Number
from service.http.shapes.words import Count
from service.outbound.ubl.parts import MOST_LINES, Note
from service.outbound.ubl.reading import MOST_PASSED

Field = Annotated[str, Meta(max_length=40, pattern="^[a-z_]+$")]
Place = Annotated[str, Meta(max_length=10_000)]
Places = Annotated[tuple[Place, ...], Meta(max_length=MOST_PASSED)]
Lines = Meta(max_length=MOST_LINES)
Portions = Meta(max_length=MOST_LINES * MOST_LINES)

NAMED: dict[str, Any] = {"order": "PO/2026/0071", "proposals": [PROPOSAL]}
ANSWER: dict[str, Any] = {
    "order": "PO/2026/0071",
    "response": "OR-7",
    "outcome": "changed",
    "promised_on": None,
    "lines": [
        {
            "line": "10",
            "outcome": "changed",
            "item": "pf-170",
            "quantity": 40.0,
            "unit": "C62",
            "price": "18.40",
            "currency": "GBP",
            "backorder": 20.0,
            "promised_on": "2026-03-20",
            "changes": ["quantity", "backorder", "promised_on"],
            "note": "the rest in May",
        }
    ],
    "unanswered": [],
}


class NamedOrder(msgspec.Struct, frozen=True, kw_only=True):
    """An order that a document names."""

    order: Label
    proposals: Annotated[tuple[Ref, ...], Meta(max_length=1000)]


class AnsweredLine(msgspec.Struct, frozen=True, kw_only=True):
    """What becomes of a line of an order."""

    line: Label
    outcome: Literal["accepted", "changed", "rejected"]
    item: Ref
    quantity: Number
    unit: Label
    price: Money | None
    currency: Currency | None
    backorder: Number
    promised_on: date | None
    changes: Annotated[tuple[Field, ...], Meta(max_length=10)]
    note: Note | None


class OrderAnswer(msgspec.Struct, frozen=True, kw_only=True):
    """What a response makes of an order."""

    order: Label
    response: Label
    outcome: Literal["accepted", "changed", "rejected", "received"]
    promised_on: date | None
    lines: Annotated[tuple[AnsweredLine, ...], Portions]
    unanswered: Annotated[tuple[Label, ...], Meta(max_length=MANY)]


class GoodsComing(msgspec.Struct, frozen=True, kw_only=True):
    """Goods of one lot that are on their way."""

    line: Label
    order: Label | None
    order_line: Label | None
    item: Ref
    quantity: Number
    unit: Label
    lot: Label | None
    expires: Expiry | None


class GoodsToFollow(msgspec.Struct, frozen=True, kw_only=True):
    """Goods that are not on their way yet."""

    line: Label
    order: Label | None
    order_line: Label | None
    item: Ref
    unit: Label
    backorder: Number
    outstanding: Number


class Despatched(msgspec.Struct, frozen=True, kw_only=True):
    """What a despatch brings."""

    despatch: Label
    sent_on: date
    site: Label | None
    expected_on: date | None
    lines: Annotated[tuple[GoodsComing, ...], Portions]
    to_follow: Annotated[tuple[GoodsToFollow, ...], Lines]


class GoodsMissed(msgspec.Struct, frozen=True, kw_only=True):
    """Goods that did not come, or were not taken."""

    fate: Literal["short", "rejected"]
    line: Label
    order: Label | None
    order_line: Label | None
    item: Ref
    quantity: Number
    unit: Label
    reason: Note | None


class ReceiptResult(BatchResult, frozen=True, kw_only=True):
    """What became of goods of one lot in a line of a receipt."""

    line: Label


class OrderDocument(msgspec.Struct, frozen=True, kw_only=True):
    """What a response or a despatch says, held against the order."""

    example: ClassVar[dict[str, Any]] = {
        "document": "order-response",
        "id": "OR-7",
        "orders": [NAMED],
        "response": ANSWER,
        "despatch": None,
        "passed_over": ["/OrderResponse/cac:Signature"],
        "more_passed_over": 0,
    }

    document: Literal["order-response", "despatch-advice"]
    id: Label
    orders: Annotated[tuple[NamedOrder, ...], Lines]
    response: OrderAnswer | None
    despatch: Despatched | None
    passed_over: Places
    more_passed_over: Count


class OrderReceipt(msgspec.Struct, frozen=True, kw_only=True):
    """What a receipt says, and what became of what it adds to stock."""

    example: ClassVar[dict[str, Any]] = {
        "document": "receipt-advice",
        "id": "RA-1",
        "orders": [NAMED],
        "results": [
            {
                "line": "1",
                "id": "8c5f3a70-5c0e-5c9e-9d6b-0f4b1a2c3d4e",
                "status": 201,
                "seq": 48211,
                "recorded_at": "2026-03-19T05:51:42.000211Z",
                "outcome": "recorded",
                "conflicts": [],
                "asset": None,
            }
        ],
        "missed": [
            {
                "fate": "rejected",
                "line": "1",
                "order": "PO/2026/0071",
                "order_line": "10",
                "item": "pf-170",
                "quantity": 4.0,
                "unit": "C62",
                "reason": "wet through",
            }
        ],
        "passed_over": [],
        "more_passed_over": 0,
    }

    document: Literal["receipt-advice"]
    id: Label
    orders: Annotated[tuple[NamedOrder, ...], Lines]
    results: Annotated[tuple[ReceiptResult, ...], Meta(max_length=MOST_EVENTS)]
    missed: Annotated[tuple[GoodsMissed, ...], Meta(max_length=2 * MOST_LINES)]
    passed_over: Places
    more_passed_over: Count
