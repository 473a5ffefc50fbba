"""What a receipt adds to stock, and what of it was missed or refused.

Received is what came through the door, and what was refused is among it: UBL 2.1 defines a short quantity as the
difference between what was despatched and what was actually received, which leaves the refused in (its schemas, read).
So stock grows by what was received without what was refused.
"""

from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from typing import Final, Literal, NamedTuple
from uuid import UUID, uuid5

import msgspec

from service.domain.kinds.stock_received import StockReceived
from service.domain.problem import Fault
from service.domain.value import FieldError
from service.domain.words import PHRASES, REF_PATTERN, Ref
from service.outbound.ubl.documents import ReceiptAdvice, ReceiptLine
from service.outbound.ubl.events.goods import Goods
from service.outbound.ubl.events.lines import NONE, Orders, answered, each, refuse, unit_of
from service.outbound.ubl.events.lots import portions

Fate = Literal["short", "rejected"]
NOTHING: Final = Decimal(0)


class Missed(msgspec.Struct, frozen=True, kw_only=True):
    """Goods that did not come, or were not taken; `line` is that of the receipt, `order_line` that of the order."""

    fate: Fate
    line: str
    order: str | None
    order_line: str | None
    item: str
    quantity: float
    unit: str
    reason: str | None = None


class Arrival(msgspec.Struct, frozen=True, kw_only=True):
    """What a receipt says: events for the stock, and what was short or refused.

    `lines` are those of the receipt that the events are of, one for each.
    """

    events: tuple[StockReceived, ...] = ()
    missed: tuple[Missed, ...] = ()
    lines: tuple[str, ...] = ()


class _Receipt(NamedTuple):
    """What all lines of a receipt have in common."""

    advice: ReceiptAdvice
    organisation: UUID
    by: str
    site: str
    day: date
    goods: Goods
    orders: Orders


def event_id(organisation: UUID, site: str, supplier: str, document: str, line: str, nth: int) -> UUID:
    """Name the nth event, from 0, of a line of a receipt, so that it is one event however often the receipt comes.

    Numbers are the site's and the supplier's own: two receipts of one number are one only where these are one, too. No
    part has a line feed in it. A receipt that says something else under its old number clashes with what it said.
    """
    return uuid5(organisation, "\n".join(("stock-received", site, supplier, document, line, str(nth))))


def arrived(
    advice: ReceiptAdvice, goods: Goods, orders: Orders = NONE, *, organisation: UUID, by: str, site: str | None = None
) -> Arrival:
    """Say what a receipt adds to the stock of its site, or of `site` where it names none.

    BadDocument with pointers into the receipt. The day is the line's, else that of the delivery, else of the receipt.
    """
    found: list[Fault] = []
    shipped = advice.shipment.delivery if advice.shipment else None
    there = _site(shipped.site if shipped else None, site, found)
    day = (shipped.done_on if shipped else None) or advice.issued_on
    receipt = _Receipt(advice, organisation, by, there, day, goods, orders)
    every = each(advice.lines, lambda line: [(line.id, one) for one in _line(line, receipt)], found)
    refuse(found)
    return Arrival(
        events=tuple(one for _, one in every if isinstance(one, StockReceived)),
        missed=tuple(one for _, one in every if isinstance(one, Missed)),
        lines=tuple(line for line, one in every if isinstance(one, StockReceived)),
    )


def _line(line: ReceiptLine, receipt: _Receipt) -> Iterator[StockReceived | Missed]:
    of = answered(line.answers, line.item, receipt.advice.orders, receipt.goods, receipt.orders)
    unit = unit_of((("received", line.received), ("short", line.short), ("rejected", line.rejected)), of)
    came, refused, short = (one.value if one else NOTHING for one in (line.received, line.rejected, line.short))
    if line.received is not None and refused > came:
        raise FieldError("rejected/value", "is more than was received: what was refused is among what was received")
    taken = max(came - refused, NOTHING)
    for nth, portion in enumerate(portions(taken, line.item.instances if line.item else ())):
        yield StockReceived(
            id=event_id(receipt.organisation, receipt.site, _supplier(receipt.advice), receipt.advice.id, line.id, nth),
            occurred_on=line.received_on or receipt.day,
            by=receipt.by,
            site=receipt.site,
            item=of.item.item,
            quantity=portion.quantity,
            unit=unit,
            lot=portion.lot,
            expires=portion.expires,
            order=of.order,
            line=of.line,
        )
    fates: tuple[tuple[Fate, Decimal], ...] = (("short", short), ("rejected", refused))
    for fate, quantity in fates:
        if quantity:
            yield Missed(
                fate=fate,
                line=line.id,
                order=of.order,
                order_line=of.line,
                item=of.item.item,
                quantity=float(quantity),
                unit=unit,
                reason=line.reject_reason if fate == "rejected" else None,
            )


def _supplier(advice: ReceiptAdvice) -> str:
    """Name the supplier by its reference, else as it is called."""
    return advice.supplier.id or advice.supplier.name or ""


def _site(told: str | None, given: str | None, found: list[Fault]) -> str:
    """Give the site of a receipt; what is wrong with it is added to the faults."""
    site, pointer = told or given, "/shipment/delivery/site"
    if site is None:
        found.append(Fault("is needed: the site that received the goods", pointer=pointer))
    elif given is not None and site != given:
        found.append(Fault(f"is not {given}, for which the receipt was sent", pointer=pointer))
    else:
        try:
            return msgspec.convert(site, Ref)
        except msgspec.ValidationError:
            found.append(Fault(f"must be {PHRASES[REF_PATTERN]}", pointer=pointer))
    return ""
