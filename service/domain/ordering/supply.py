"""Supply: what is on its way to a site, of orders that go on and of approvals that were not ordered yet.

A line in another unit than its item's is not added up; while it goes on, nobody knows how much is on its way.
"""

from collections import defaultdict
from collections.abc import Iterable

from service.domain.ordering.life import Life
from service.domain.ordering.lines import DIGITS, is_alike
from service.domain.ordering.order import Order
from service.domain.ordering.units import UnitOf


def outstanding(orders: Iterable[Order], approved: Iterable[Life], unit: UnitOf) -> dict[tuple[str, str], float]:
    """Give how much is on its way, by site and item."""
    found: defaultdict[tuple[str, str], float] = defaultdict(float)
    for line in (line for order in orders for line in order.outstanding):
        if line.site is not None and is_alike(line.unit, unit(line.item)):
            found[line.site, line.item] += line.outstanding
    for life in approved:
        if life.need is not None:
            found[life.need[:2]] += life.quantity or 0.0
    return {pair: round(quantity, DIGITS) for pair, quantity in found.items()}


def untold(orders: Iterable[Order], approved: Iterable[Life], unit: UnitOf) -> frozenset[tuple[str, str]]:
    """Name the sites and items of which nobody said how much is on its way, or in another unit than the item's."""
    found = {life.need[:2] for life in approved if life.need is not None and life.quantity is None}
    for line in (line for order in orders for line in order.lines):
        alien = line.outstanding > 0 and not is_alike(line.unit, unit(line.item))
        if line.site is not None and (line.ordered is None or alien):
            found.add((line.site, line.item))
    return frozenset(found)
