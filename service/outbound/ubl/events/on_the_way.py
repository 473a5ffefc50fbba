"""What a despatch brings, by lot, and what of its orders is to follow."""

from collections.abc import Iterator
from datetime import date

import msgspec

from service.domain.problem import Fault
from service.outbound.ubl.documents import DespatchAdvice, DespatchLine
from service.outbound.ubl.events.goods import Goods
from service.outbound.ubl.events.lines import NONE, Orders, answered, each, refuse, unit_of
from service.outbound.ubl.events.lots import portions


class Coming(msgspec.Struct, frozen=True, kw_only=True):
    """Goods of one lot that are on the way; `line` is that of the despatch, `order_line` that of the order."""

    line: str
    order: str | None
    order_line: str | None
    item: str
    quantity: float
    unit: str
    lot: str | None = None
    expires: str | None = None


class ToFollow(msgspec.Struct, frozen=True, kw_only=True):
    """Goods that were ordered and not sent: on back order at the supplier, and outstanding for a later despatch."""

    line: str
    order: str | None
    order_line: str | None
    item: str
    unit: str
    backorder: float
    outstanding: float


class OnTheWay(msgspec.Struct, frozen=True, kw_only=True):
    """What a despatch brings: where to and by when, as far as it is told."""

    despatch: str
    sent_on: date
    site: str | None = None
    expected_on: date | None = None
    lines: tuple[Coming, ...] = ()
    to_follow: tuple[ToFollow, ...] = ()


def on_the_way(advice: DespatchAdvice, goods: Goods, orders: Orders = NONE) -> OnTheWay:
    """Say what a despatch brings. BadDocument with pointers into it."""
    found: list[Fault] = []
    every = each(advice.lines, lambda line: _line(line, advice, goods, orders), found)
    refuse(found)
    shipment = advice.shipment
    delivery = shipment.delivery if shipment else None
    return OnTheWay(
        despatch=advice.id,
        sent_on=(shipment.despatched_on if shipment else None) or advice.issued_on,
        site=delivery.site if delivery else None,
        expected_on=(delivery.latest or delivery.earliest) if delivery else None,
        lines=tuple(one for one in every if isinstance(one, Coming)),
        to_follow=tuple(one for one in every if isinstance(one, ToFollow)),
    )


def _line(line: DespatchLine, advice: DespatchAdvice, goods: Goods, orders: Orders) -> Iterator[Coming | ToFollow]:
    of = answered(line.answers, line.item, advice.orders, goods, orders)
    told = (("despatched", line.despatched), ("backorder", line.backorder), ("outstanding", line.outstanding))
    unit, item = unit_of(told, of), of.item.item
    for portion in portions(line.despatched.value, line.item.instances) if line.despatched else ():
        yield Coming(
            line=line.id,
            order=of.order,
            order_line=of.line,
            item=item,
            quantity=portion.quantity,
            unit=unit,
            lot=portion.lot,
            expires=portion.expires,
        )
    backorder, outstanding = (float(measure.value) if measure else 0.0 for _, measure in told[1:])
    if backorder or outstanding:
        yield ToFollow(
            line=line.id,
            order=of.order,
            order_line=of.line,
            item=item,
            unit=unit,
            backorder=backorder,
            outstanding=outstanding,
        )
