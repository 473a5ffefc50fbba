"""Units: what is said of an order in another unit than its item is counted in, which nobody can add up."""

from collections.abc import Callable, Iterable, Iterator
from typing import NamedTuple

from service.domain.kinds.stock_received import StockReceived
from service.domain.ordering.acts import Said, deed_of
from service.domain.ordering.order import Deed, Order
from service.domain.stock.lines import is_alike

UnitOf = Callable[[str], str | None]
"""Gives the unit that an item is counted in, None where it is not defined."""


class Alien(NamedTuple):
    """An order or a receipt for one, in another unit than the item's."""

    deed: Deed
    site: str | None
    item: str
    order: str


def aliens(orders: Iterable[Order], receipts: Iterable[Said[StockReceived]], unit: UnitOf) -> Iterator[Alien]:
    """Give each order of which such a line goes on, and each such receipt."""
    for order in orders:
        line = next((line for line in order.outstanding if line.alien), None)
        if line is not None:
            yield Alien(order.placed, order.site, line.item, order.order)
    for said in receipts:
        event = said.event
        if not is_alike(event.unit, unit(event.item)):
            yield Alien(deed_of(said), event.site, event.item, event.order or "")
