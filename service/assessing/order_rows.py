"""Rows about orders: each is of something done about one, and named by the event that says so."""

from datetime import datetime

from service.assessing.exceptions import Row
from service.domain.ordering.order import Deed, Order


def of_deed(
    name: str,
    deed: Deed,
    *,
    site: str | None,
    order: str | None = None,
    item: str | None = None,
    at: datetime | None = None,
) -> Row:
    """Give the row of a report about what was done; `at` is when it came about, where that was later."""
    return Row(
        ref=deed.event,
        at=at or deed.at,
        site=site,
        person=deed.by,
        words=(name,),
        item=item,
        order=order,
        seqs=(deed.seq,),
    )


def of_order(name: str, order: Order) -> Row:
    """Give the row of a report about an order, named by its placement."""
    return of_deed(name, order.placed, site=order.site, order=order.order)
