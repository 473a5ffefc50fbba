"""Shares: what of the receipts of an order came for one of its parts."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from uuid import UUID

from service.domain.ordering.lines import summed
from service.domain.ordering.order import Arrival, Order


def share(part: Order, parts: Sequence[Order], site: str, items: Collection[str]) -> list[tuple[Arrival, float]]:
    """Give what came of items at a site for a part, each with how much of it; what fills no part is told of each."""
    mine, filled = _came((part,)), _came(parts)
    told = (one for one in part.arrivals if one.site == site and one.item in items)
    shares = ((one, mine[one.event] if one.event in filled else one.quantity) for one in told)
    return [(one, quantity) for one, quantity in shares if quantity]


def _came(parts: Iterable[Order]) -> defaultdict[UUID, float]:
    found: defaultdict[UUID, float] = defaultdict(float)
    for event, quantity in (came for part in parts for line in part.lines for came in line.came):
        found[event] = summed((found[event], quantity))
    return found
