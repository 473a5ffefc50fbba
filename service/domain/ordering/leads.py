"""Leads: how long orders took that wait for no more."""

from collections.abc import Iterable
from typing import NamedTuple

from service.domain.ordering.order import Order


class Lead(NamedTuple):
    """How many days an order took, of an item from a supplier to a site."""

    item: str
    supplier: str | None
    site: str
    days: float


def leads_of(order: Order) -> Iterable[Lead]:
    """Give how long an order took, for each item of which it waits for no more."""
    waiting = {line.item for line in order.outstanding}
    for item in sorted({line.item for line in order.lines} - waiting):
        came = [(one.on, one.quantity, one.site) for one in order.arrivals if one.item == item and one.quantity > 0]
        mine = [one for one in came if one[2] == order.site] or came
        if mine and min(on for on, _, _ in mine) >= order.placed_on:
            whole = sum(quantity for _, quantity, _ in mine)
            days = sum((on - order.placed_on).days * quantity for on, quantity, _ in mine) / whole
            yield Lead(item, order.supplier, order.site or mine[0][2], days)
