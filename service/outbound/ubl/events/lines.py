"""Which line of which order a line answers, and which item it is of."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Final, NamedTuple, TypeVar

from service.domain import faults
from service.domain.errors import BadDocument
from service.domain.kinds.item_defined import ItemDefined
from service.domain.kinds.order_placed import OrderLine, OrderPlaced
from service.domain.problem import Fault
from service.domain.value import FieldError
from service.outbound.ubl.events.goods import Goods, counted_in, match
from service.outbound.ubl.parts import Item, Measure, OrderLineRef

Orders = Mapping[str, OrderPlaced]
"""Orders that are known, by their numbers; others are believed as they are told."""
NONE: Final[Orders] = {}

L = TypeVar("L")
T = TypeVar("T")


class Answered(NamedTuple):
    """What a line speaks of: an order and its line, as far as they are told and known, and an item."""

    order: str | None
    line: str | None
    ordered: OrderLine | None
    item: ItemDefined


def answered(
    answers: OrderLineRef | None, told: Item | None, named: Sequence[str], goods: Goods, orders: Orders
) -> Answered:
    """Say what a line speaks of; `named` are the orders of its document. FieldError with the field of the line.

    An order of which no lines are on record has any.
    """
    order = order_of(answers, named)
    line = answers.line if answers else None
    known = orders.get(order) if order else None
    ordered = line_of(known, line) if known and known.lines and line is not None else None
    found = within("item", lambda: match(told, goods)) if told and told.is_known() else None
    if found and ordered and found.item != ordered.item:
        raise FieldError("item", f"is {found.item}, and line {line} of {order} is of {ordered.item}")
    if found is None and ordered is not None:
        found = match(Item(item=ordered.item), goods)
    if found is None:
        raise FieldError("item", "is needed: our reference, a GTIN or a part number")
    return Answered(order, line, ordered, found)


def order_of(answers: OrderLineRef | None, named: Sequence[str]) -> str | None:
    """Give the order that a line is of: that which it names, else the only one of its document."""
    every = tuple(dict.fromkeys(named))
    if answers and answers.order:
        return answers.order
    if len(every) > 1:
        raise FieldError("answers/order", f"is needed: the document names {', '.join(every)}")
    return every[0] if every else None


def line_of(order: OrderPlaced, line: str) -> OrderLine:
    """Give a line of an order that is known."""
    found = next((one for one in order.lines if one.line == line), None)
    if found is None:
        raise FieldError("answers/line", f"{line} is no line of {order.order}")
    return found


def unit_of(measures: Iterable[tuple[str, Measure | None]], of: Answered) -> str:
    """Give the unit that a line is recorded in; its measures, each with its field, have one unit, and one is given."""
    field, measure = next((field, measure) for field, measure in measures if measure is not None)
    return within(field, lambda: counted_in(measure, of.item, of.ordered.unit if of.ordered else None))


def within(field: str, made: Callable[[], T]) -> T:
    """Make something of a field, so that what is wrong with it is told of the field."""
    try:
        return made()
    except FieldError as error:
        raise FieldError(f"{field}/{error.field}".rstrip("/"), error.detail) from error


def each(lines: Iterable[L], made: Callable[[L], Iterable[T]], found: list[Fault], name: str = "lines") -> list[T]:
    """Make something of each line; what is wrong with one is added to the faults, with its pointer."""
    every: list[T] = []
    for number, line in enumerate(lines):
        try:
            every.extend(made(line))
        except FieldError as error:
            found.append(Fault(error.detail, pointer=f"/{name}/{number}/{error.field}".rstrip("/")))
    return every


def refuse(found: Sequence[Fault]) -> None:
    """Refuse a document with all that is wrong with it. BadDocument."""
    if found:
        raise BadDocument(found[0].detail, *found[: faults.MOST])
