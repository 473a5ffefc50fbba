"""What came into stock, as the receipt that a supplier is sent.

Each event is a line, and so is each quantity that was short or refused; lines are numbered from 1, the events first.
The document is for others: read again it would name its events anew, since it says nothing of their ids.
"""

from collections.abc import Iterator
from datetime import date, tzinfo

import msgspec
from msgspec.structs import replace

from service.domain.kinds.stock_received import StockReceived
from service.domain.money import exact
from service.domain.problem import Fault
from service.domain.value import FieldError
from service.domain.words import expiry_day
from service.outbound.ubl.documents import ReceiptAdvice, ReceiptLine
from service.outbound.ubl.events.goods import Goods, code_of, defined, told_of
from service.outbound.ubl.events.lines import each, refuse
from service.outbound.ubl.events.received import Arrival, Missed
from service.outbound.ubl.parts import Delivery, Instance, Measure, OrderLineRef, Party, Shipment


class Papers(msgspec.Struct, frozen=True, kw_only=True):
    """What a receipt says beside its lines. Where the shipment has a number, the receipt names the site, too."""

    number: str
    issued_on: date
    buyer: Party
    supplier: Party
    shipment: str | None = None
    despatches: tuple[str, ...] = ()


def as_receipt(arrival: Arrival, papers: Papers, goods: Goods, zone: tzinfo) -> ReceiptAdvice:
    """Write a receipt; `zone` is that of the site. BadDocument with pointers into the arrival."""
    found: list[Fault] = []
    sites = sorted({event.site for event in arrival.events})
    if not arrival.events and not arrival.missed:
        found.append(Fault("is needed: a receipt says what came, or what was missed", pointer="/events"))
    if len(sites) > 1:
        found.append(Fault(f"is of several sites ({', '.join(sites)}): a receipt has one", pointer="/events"))
    taken = each(arrival.events, lambda event: _taken(event, goods, zone), found, "events")
    missed = each(arrival.missed, lambda one: _missed(one, goods), found, "missed")
    refuse(found)
    orders = [*(event.order for event in arrival.events), *(one.order for one in arrival.missed)]
    there = Delivery(site=sites[0]) if sites else None
    return ReceiptAdvice(
        id=papers.number,
        issued_on=papers.issued_on,
        orders=tuple(dict.fromkeys(order for order in orders if order)),
        despatches=papers.despatches,
        buyer=papers.buyer,
        supplier=papers.supplier,
        shipment=Shipment(id=papers.shipment, delivery=there) if papers.shipment else None,
        lines=tuple(replace(line, id=str(number)) for number, line in enumerate((*taken, *missed), 1)),
    )


def _taken(event: StockReceived, goods: Goods, zone: tzinfo) -> Iterator[ReceiptLine]:
    expires = expiry_day(event.expires) if event.expires else None
    instance = Instance(lot=event.lot, expires=expires) if event.lot or expires else None
    yield ReceiptLine(
        id="-",
        received=_measure(event.quantity, event.unit),
        received_on=event.occurred_at.astimezone(zone).date() if event.occurred_at else event.occurred_on,
        answers=_answers(event.order, event.line),
        item=replace(told_of(defined(event.item, goods)), instances=(instance,) if instance else ()),
    )


def _missed(one: Missed, goods: Goods) -> Iterator[ReceiptLine]:
    quantity = _measure(one.quantity, one.unit)
    refused = one.fate == "rejected"
    yield ReceiptLine(
        id="-",
        received=quantity if refused else None,
        short=None if refused else quantity,
        rejected=quantity if refused else None,
        reject_reason=one.reason if refused else None,
        answers=_answers(one.order, one.order_line),
        item=told_of(defined(one.item, goods)),
    )


def _measure(quantity: float, unit: str) -> Measure:
    try:
        return Measure(value=exact(quantity), unit=code_of(unit))
    except FieldError as error:
        raise FieldError("quantity" if error.field == "value" else error.field, error.detail) from error


def _answers(order: str | None, line: str | None) -> OrderLineRef | None:
    return None if line is None else OrderLineRef(line=line, order=order)
