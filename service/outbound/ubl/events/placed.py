"""Orders that are on record, as the events that documents are made of and that answers are held against."""

from collections.abc import Iterator, Sequence
from decimal import Decimal

from service.domain.kinds.order_placed import OrderLine, OrderPlaced
from service.domain.ordering.life import Life
from service.domain.ordering.lines import ONLY_LINE, Line
from service.domain.ordering.naming import Need
from service.domain.ordering.order import Order
from service.outbound.ubl.events.goods import Goods


def placed_of(parts: Sequence[Order], goods: Goods) -> OrderPlaced:
    """Give an order of one number from its parts for several proposals.

    It has no lines where something of it is not told, or two lines have one name: then any line may be meant.
    """
    first = parts[0]
    every = [told for part in parts for line in part.lines for told in _lines(line, goods)]
    whole = len(every) == sum(len(part.lines) for part in parts)
    return OrderPlaced(
        id=first.placed.event,
        occurred_at=first.placed.at,
        by=first.placed.by,
        site=first.site,
        proposal=first.proposal,
        order=first.order,
        lines=tuple(every) if whole and len({line.line for line in every}) == len(every) else (),
        supplier=first.supplier,
        expected_on=first.expected_on,
    )


def approved_of(life: Life, need: Need, goods: Goods) -> OrderPlaced | None:
    """Give the order that an approval asks for, under the proposal's name; None where nobody said how much.

    It is in the unit that was approved, whatever the item is counted in since.
    """
    approval = life.approval
    if approval is None or approval.quantity is None:
        return None
    line = Line(line=None, site=need.site, item=need.item, unit=approval.unit, ordered=approval.quantity)
    return OrderPlaced(
        id=approval.deed.event,
        occurred_at=approval.deed.at,
        by=approval.deed.by,
        site=need.site,
        proposal=life.proposal,
        order=life.proposal,
        lines=tuple(_lines(line, goods)),
    )


def _lines(line: Line, goods: Goods) -> Iterator[OrderLine]:
    """Give a line in the item's unit where none was said; nothing where nobody said how much, or knows in what."""
    item = goods.items.get(line.item)
    unit = line.unit if line.unit is not None or item is None else item.unit
    if line.ordered is not None and unit is not None:
        yield OrderLine(
            line=line.line or ONLY_LINE,
            item=line.item,
            quantity=line.ordered,
            unit=unit,
            price=None if line.price is None else Decimal(line.price),
            currency=line.currency,
        )
