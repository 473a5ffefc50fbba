"""An order of ours, as a document."""

from collections.abc import Iterator
from datetime import date

from msgspec.structs import replace

from service.domain.kinds.order_placed import OrderLine as Ordered
from service.domain.kinds.order_placed import OrderPlaced
from service.domain.money import exact, extended
from service.domain.problem import Fault
from service.domain.value import FieldError
from service.outbound.ubl.documents import Order, OrderLine
from service.outbound.ubl.events.goods import Goods, code_of, defined, told_of
from service.outbound.ubl.events.lines import each, refuse
from service.outbound.ubl.parts import Delivery, Measure, Party, Price, Total

OF_EVENT = {"value": "quantity", "amount": "price"}
"""What fields of documents are called in events."""


def as_document(
    placed: OrderPlaced,
    goods: Goods,
    *,
    issued_on: date,
    buyer: Party,
    supplier: Party,
    delivery: Delivery | None = None,
) -> Order:
    """Write an order. BadDocument with pointers into the event.

    The supplier has the reference of the event, and the place of delivery its site, where it tells them; what was to
    come by a day is asked for by that day.
    """
    found: list[Fault] = []
    lines = each(placed.lines, lambda line: _line(line, goods), found)
    sorts = dict.fromkeys(line.price.currency for line in lines if line.price)
    if not placed.lines:
        found.append(Fault("is needed: an order says what it orders", pointer="/lines"))
    if len(sorts) > 1:
        found.append(Fault(f"has prices in {', '.join(sorts)}: a document has one currency", pointer="/lines"))
    refuse(found)
    there = delivery or Delivery()
    there = replace(there, site=placed.site or there.site, latest=placed.expected_on or there.latest)
    return Order(
        id=placed.order,
        issued_on=issued_on,
        currency=next(iter(sorts), None),
        proposal=placed.proposal,
        buyer=buyer,
        supplier=replace(supplier, id=placed.supplier or supplier.id),
        delivery=None if there == Delivery() else there,
        lines=tuple(lines),
    )


def _line(line: Ordered, goods: Goods) -> Iterator[OrderLine]:
    item = defined(line.item, goods)
    try:
        quantity = Measure(value=exact(line.quantity), unit=code_of(line.unit))
        price = (
            None if line.price is None or line.currency is None else Price(amount=line.price, currency=line.currency)
        )
        total = _total(quantity, price) if price else None
        yield OrderLine(id=line.line, quantity=quantity, price=price, total=total, item=told_of(item))
    except FieldError as error:
        *_, name = error.field.split("/")
        raise FieldError(OF_EVENT.get(name, name), error.detail) from error


def _total(quantity: Measure, price: Price) -> Total:
    return Total(amount=extended(quantity.value, price.amount, price.currency), currency=price.currency)
