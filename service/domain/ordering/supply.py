"""Supply: what is on its way to a site, of orders that go on and of approvals that were not ordered yet.

What came on a day that is not over is on its way until it is, as it is in no stock before: of an order that was called
off meanwhile, too, lest it is ordered again. A line in another unit than its item's is not added up; while it goes on,
nobody knows how much is on its way.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable

from service.domain.ordering.life import Life
from service.domain.ordering.lines import DIGITS
from service.domain.ordering.order import Order


def outstanding(
    going_on: Collection[Order], others: Iterable[Order], approved: Iterable[Life]
) -> dict[tuple[str, str], float]:
    """Give how much is on its way, by site and item; of `others` nothing is waited for any more."""
    found: defaultdict[tuple[str, str], float] = defaultdict(float)
    waited = [(line, max(line.outstanding, line.arriving)) for order in going_on for line in order.lines]
    for line, much in (*waited, *((line, line.arriving) for order in others for line in order.lines)):
        if much and line.site is not None and not line.alien:
            found[line.site, line.item] += much
    for life in approved:
        if life.need is not None:
            found[life.need[:2]] += life.quantity or 0.0
    return {pair: round(quantity, DIGITS) for pair, quantity in found.items()}


def untold(orders: Iterable[Order], approved: Iterable[Life]) -> frozenset[tuple[str, str]]:
    """Name the sites and items of which nobody said how much is on its way, or in another unit than the item's."""
    found = {life.need[:2] for life in approved if life.need is not None and life.quantity is None}
    for line in (line for order in orders for line in order.lines):
        if line.site is not None and (line.ordered is None or (line.alien and line.outstanding > 0)):
            found.add((line.site, line.item))
    return frozenset(found)
