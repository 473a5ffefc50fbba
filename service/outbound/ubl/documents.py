"""The four documents of a purchase: an order, the answer to it, what was sent, and what arrived.

`issued_on` is a date as printed, `id` the number that the document's sender gave it, `order` that of the buyer.
"""

from collections.abc import Iterator, Sequence
from datetime import date
from typing import Annotated, Literal

from msgspec import Meta
from typing_extensions import override

from service.domain.value import FieldError, Value, each_once
from service.domain.words import Currency, Label
from service.outbound.ubl.parts import (
    MOST_LINES,
    Delivery,
    DespatchLineRef,
    Item,
    Measure,
    Note,
    OrderLineRef,
    Party,
    Price,
    Shipment,
    Total,
    counted,
    currency_wrong,
    one_unit,
)

Ids = Annotated[tuple[Label, ...], Meta(max_length=MOST_LINES)]
Response = Literal["AB", "AP", "CA", "RE"]
"""Received, accepted, accepted with changes, refused (UN/EDIFACT 4343 as Peppol uses it)."""


class OrderLine(Value, frozen=True, kw_only=True):
    """Goods that are ordered."""

    id: Label
    note: Note | None = None
    quantity: Measure
    total: Total | None = None
    price: Price | None = None
    item: Item

    @override
    def wrong(self) -> Iterator[FieldError]:
        """Refuse none of something, goods that nobody can tell, and a price in another unit."""
        if not self.quantity.value:
            yield FieldError("quantity/value", "orders nothing: leave the line out")
        yield from one_unit((("quantity", self.quantity), ("price/per", self.price.per if self.price else None)))
        if not self.item.is_known():
            yield FieldError("item/item", "is needed, or the supplier's number or a GTIN")


class Order(Value, frozen=True, kw_only=True):
    """What a firm orders of a supplier; `proposal` is what it came from."""

    id: Label
    issued_on: date
    note: Note | None = None
    currency: Currency | None = None
    proposal: Label | None = None
    buyer: Party
    supplier: Party
    delivery: Delivery | None = None
    lines: Annotated[tuple[OrderLine, ...], Meta(min_length=1, max_length=MOST_LINES)]

    @override
    def wrong(self) -> Iterator[FieldError]:
        """Refuse a line that stands twice, and money of several sorts."""
        yield from each_once("lines", (line.id for line in self.lines), "id")
        yield from _money_of(self.currency, self.lines)


class ResponseLine(Value, frozen=True, kw_only=True):
    """What becomes of a line of the order; `status` is a word of `reference/line_status.py`, or the sender's own."""

    id: Label
    note: Note | None = None
    status: Label | None = None
    quantity: Measure | None = None
    total: Total | None = None
    backorder: Measure | None = None
    delivery: Delivery | None = None
    price: Price | None = None
    item: Item
    answers: OrderLineRef | None = None

    @override
    def wrong(self) -> Iterator[FieldError]:
        """Refuse several units, the price's among them."""
        per = self.price.per if self.price else None
        yield from one_unit((("quantity", self.quantity), ("backorder", self.backorder), ("price/per", per)))


class OrderResponse(Value, frozen=True, kw_only=True):
    """What a supplier says to an order, as a whole or line by line."""

    id: Label
    issued_on: date
    response: Response | None = None
    note: Note | None = None
    currency: Currency | None = None
    order: Label
    supplier: Party
    buyer: Party
    delivery: Delivery | None = None
    lines: Annotated[tuple[ResponseLine, ...], Meta(max_length=MOST_LINES)] = ()

    @override
    def wrong(self) -> Iterator[FieldError]:
        """Refuse a line that stands twice, and money of several sorts."""
        yield from each_once("lines", (line.id for line in self.lines), "id")
        yield from _money_of(self.currency, self.lines)


class DespatchLine(Value, frozen=True, kw_only=True):
    """Goods that were sent, that the supplier has on back order, and that follow in a later despatch."""

    id: Label
    note: Note | None = None
    despatched: Measure | None = None
    backorder: Measure | None = None
    backorder_reason: Note | None = None
    outstanding: Measure | None = None
    outstanding_reason: Note | None = None
    answers: OrderLineRef
    item: Item

    @override
    def wrong(self) -> Iterator[FieldError]:
        """Refuse a line that counts nothing, or in several units."""
        told = (("despatched", self.despatched), ("backorder", self.backorder), ("outstanding", self.outstanding))
        yield from counted(told)
        yield from one_unit(told)


class DespatchAdvice(Value, frozen=True, kw_only=True):
    """What a supplier sent."""

    id: Label
    issued_on: date
    note: Note | None = None
    orders: Ids = ()
    supplier: Party
    buyer: Party
    shipment: Shipment | None = None
    lines: Annotated[tuple[DespatchLine, ...], Meta(min_length=1, max_length=MOST_LINES)]

    @override
    def wrong(self) -> Iterator[FieldError]:
        """Refuse a line that stands twice."""
        yield from each_once("lines", (line.id for line in self.lines), "id")


class ReceiptLine(Value, frozen=True, kw_only=True):
    """Goods that arrived, that were missed, and that were not taken."""

    id: Label
    note: Note | None = None
    received: Measure | None = None
    short: Measure | None = None
    rejected: Measure | None = None
    reject_reason: Note | None = None
    received_on: date | None = None
    answers: OrderLineRef | None = None
    despatched: DespatchLineRef | None = None
    item: Item | None = None

    @override
    def wrong(self) -> Iterator[FieldError]:
        """Refuse a line that counts nothing, in several units, or that nobody can tell the goods of."""
        told = (("received", self.received), ("short", self.short), ("rejected", self.rejected))
        yield from counted(told)
        yield from one_unit(told)
        if self.answers is None and self.despatched is None and not (self.item and self.item.is_known()):
            yield FieldError("answers", "is needed, or the line of a despatch, or a number of the goods")


class ReceiptAdvice(Value, frozen=True, kw_only=True):
    """What a firm received."""

    id: Label
    issued_on: date
    note: Note | None = None
    orders: Ids = ()
    despatches: Ids = ()
    buyer: Party
    supplier: Party
    shipment: Shipment | None = None
    lines: Annotated[tuple[ReceiptLine, ...], Meta(min_length=1, max_length=MOST_LINES)]

    @override
    def wrong(self) -> Iterator[FieldError]:
        """Refuse a line that stands twice."""
        yield from each_once("lines", (line.id for line in self.lines), "id")


Document = Order | OrderResponse | DespatchAdvice | ReceiptAdvice


def _money_of(currency: str | None, lines: Sequence[OrderLine | ResponseLine]) -> Iterator[FieldError]:
    """Refuse what is no currency, and money of several sorts in one document."""
    if currency is not None:
        yield from currency_wrong("currency", currency)
    told = currency
    for place, line in enumerate(lines):
        for field, money in (("total", line.total), ("price", line.price)):
            if money is not None:
                told = told or money.currency
            if money is not None and money.currency != told:
                yield FieldError(f"lines/{place}/{field}/currency", f"must be {told}, as elsewhere in the document")
