"""What a response makes of an order: which lines are accepted, changed and refused, and when goods are promised.

What a line says counts before what its status calls it: a line "accepted" in another quantity is changed. Of lines that
a response is silent about nothing is assumed, unless the whole order is accepted or refused.
"""

from collections.abc import Iterator, Mapping
from datetime import date
from decimal import Decimal
from typing import Final, Literal

import msgspec
from msgspec.structs import replace

from service.domain.kinds.order_placed import OrderLine, OrderPlaced
from service.domain.money import exact
from service.domain.problem import Fault
from service.domain.stock.lines import is_alike
from service.domain.value import FieldError
from service.outbound.ubl.documents import OrderResponse, ResponseLine
from service.outbound.ubl.events.goods import Goods, match
from service.outbound.ubl.events.lines import each, line_of, refuse, within
from service.outbound.ubl.parts import Delivery, Measure

Outcome = Literal["accepted", "changed", "rejected"]
Whole = Outcome | Literal["received"]
"""Of an order as a whole: it may have been received only."""

STATUS: Final[Mapping[str, Outcome | None]] = {
    "NoStatus": None,
    "5": "accepted",
    "42": "accepted",
    "3": "changed",
    "Revised": "changed",
    "7": "rejected",
    "Cancelled": "rejected",
}
"""Words for lines: numbers as in `reference/line_status.py`, others as in UBL (NoStatus and Revised read in examples of
it, Cancelled from memory). Lines that were added answer nothing, so there is no word for them.
"""
WHOLE: Final[Mapping[str, Outcome]] = {"AP": "accepted", "RE": "rejected"}
"""What a response says of every line that it does not speak of."""


class Said(msgspec.Struct, frozen=True, kw_only=True):
    """What becomes of a line of the order; `changes` are the fields that are not as ordered.

    A line that the response divides stands as often, each with its part of the quantity.
    """

    line: str
    outcome: Outcome
    item: str
    quantity: float
    unit: str
    price: Decimal | None = None
    currency: str | None = None
    backorder: float = 0.0
    promised_on: date | None = None
    changes: tuple[str, ...] = ()
    note: str | None = None


class Answer(msgspec.Struct, frozen=True, kw_only=True):
    """What becomes of an order; `unanswered` are the lines that nothing is said of."""

    order: str
    response: str
    outcome: Whole
    promised_on: date | None = None
    lines: tuple[Said, ...] = ()
    unanswered: tuple[str, ...] = ()


def answer(response: OrderResponse, placed: OrderPlaced, goods: Goods) -> Answer:
    """Say what a response makes of an order. BadDocument with pointers into the response."""
    found: list[Fault] = []
    if response.order != placed.order:
        found.append(Fault(f"is not {placed.order}, which it is held against", pointer="/order"))
    said = each(response.lines, lambda line: _said(line, response, placed, goods), found)
    refuse(found)
    spoken = {one.line for one in said}
    silent = [line for line in placed.lines if line.line not in spoken]
    whole, promised = WHOLE.get(response.response or ""), _day(response.delivery)
    if whole is not None:
        said += [_as_ordered(line, whole, promised) for line in silent]
    left = () if whole else tuple(line.line for line in silent)
    return Answer(
        order=placed.order,
        response=response.id,
        outcome=_outcome(response, {one.outcome for one in said}, complete=not left),
        promised_on=promised,
        lines=tuple(said),
        unanswered=left,
    )


def _outcome(response: OrderResponse, outcomes: set[Outcome], *, complete: bool) -> Whole:
    if response.response == "RE":
        return "rejected"
    if response.response == "CA":
        return "changed"
    if not outcomes:
        return "accepted" if response.response == "AP" else "received"
    return next(iter(outcomes)) if len(outcomes) == 1 and complete else "changed"


def _said(line: ResponseLine, response: OrderResponse, placed: OrderPlaced, goods: Goods) -> Iterator[Said]:
    """Say what becomes of a line; nothing where its order was only received and it says no more."""
    if line.answers is None:
        raise FieldError("answers", "is needed: the line of the order that it speaks of")
    if line.answers.order not in {None, placed.order}:
        raise FieldError("answers/order", f"is not {placed.order}, which the response is to")
    if line.status is not None and line.status not in STATUS:
        raise FieldError("status", "is no status that is read here: send 3, 5, 7 or 42 (UN/EDIFACT 1229), or none")
    ordered = line_of(placed, line.answers.line)
    told, whole = STATUS.get(line.status or ""), WHOLE.get(response.response or "")
    if {told, whole} == {"accepted", "rejected"} or (told == "changed" and whole == "rejected"):
        raise FieldError("status", f"{line.status} contradicts the response to the whole order, {response.response}")
    promised = _day(line.delivery) or _day(response.delivery)
    made = _told(line, _as_ordered(ordered, "accepted", promised), goods)
    late = promised is not None and placed.expected_on is not None and promised > placed.expected_on
    changes = (*_changes(ordered, made), *(["promised_on"] if late else []))
    if told is None and whole is None and response.response == "AB" and not changes:
        return
    refused = "rejected" in {told, whole}
    outcome: Outcome = "rejected" if refused else "changed" if changes or told == "changed" else "accepted"
    yield replace(made, outcome=outcome, changes=() if refused else changes)


def _as_ordered(line: OrderLine, outcome: Outcome, promised: date | None) -> Said:
    return Said(
        line=line.line,
        outcome=outcome,
        item=line.item,
        quantity=line.quantity,
        unit=line.unit,
        price=line.price,
        currency=line.currency,
        promised_on=promised,
    )


def _told(line: ResponseLine, made: Said, goods: Goods) -> Said:
    """Put what a line says of its goods over what was ordered; a price is for one.

    What a piece costs says nothing of a box, nor of another item: of such a line no price is known unless it says one.
    """
    quantity, price = line.quantity, line.price
    if line.item.is_known():
        item = within("item", lambda: match(line.item, goods)).item
        made = made if item == made.item else replace(made, item=item, price=None, currency=None)
    if quantity is not None and is_alike(quantity.unit, made.unit):
        made = replace(made, quantity=float(quantity.value))
    elif quantity is not None:
        made = replace(made, quantity=float(quantity.value), unit=quantity.unit, price=None, currency=None)
    _demand_unit("backorder", line.backorder, made.unit)
    if price is not None:
        _demand_unit("price/per", price.per, made.unit)
        made = replace(made, price=price.amount / (price.per.value if price.per else 1), currency=price.currency)
    return replace(made, backorder=float(line.backorder.value) if line.backorder else 0.0, note=line.note)


def _demand_unit(field: str, measure: Measure | None, unit: str) -> None:
    """Raise FieldError for a quantity in another unit than its line, as it was ordered or is told."""
    if measure is not None and not is_alike(measure.unit, unit):
        raise FieldError(f"{field}/unit", f"{measure.unit} is not the {unit} that the line is counted in")


def _changes(ordered: OrderLine, made: Said) -> tuple[str, ...]:
    """Name the fields that are not as ordered; an order without a price leaves it open."""
    same = {
        "item": made.item == ordered.item,
        "quantity": exact(made.quantity) == exact(ordered.quantity),
        "unit": made.unit == ordered.unit,
        "price": ordered.price is None or (made.price, made.currency) == (ordered.price, ordered.currency),
        "backorder": made.backorder == 0,
    }
    return tuple(name for name, alike in same.items() if not alike)


def _day(delivery: Delivery | None) -> date | None:
    """Give the day that goods are promised for: the last, where there are two."""
    return (delivery.latest or delivery.earliest) if delivery else None
