"""Ordered twice: proposals for which orders were placed under more than one number.

The doors let nobody do so; what is posted straight as events is recorded all the same, and both orders are on their
way. A row is one further order, named by its placement; it is gone once an order was called off with nothing received.
"""

from collections.abc import Iterator

from msgspec.structs import replace

from service.assessing.exceptions import Inquiry, Row
from service.assessing.found_whole import found_whole
from service.assessing.grounds import as_read
from service.assessing.order_rows import of_order
from service.domain.ordering.life import Life

NAME = "ordered-twice"


async def every(inquiry: Inquiry) -> list[Row]:
    """Give a row for each further order."""
    return [row for life in (await inquiry.book()).lives.values() for row in _of(life)]


def _of(life: Life) -> Iterator[Row]:
    """Give a row for each order but the first, of those that something came of or may yet."""
    if not life.placed_twice:
        return
    first, *further = [order for order in life.orders if order.state != "cancelled"]
    for order in further:
        yield replace(of_order(NAME, order), seqs=(first.placed.seq, order.placed.seq))


REPORT = found_whole(
    NAME,
    every,
    grounds=as_read,
    severity="medium",  # money and a shelf
    reason=lambda row: f"order {row.order!r} is for a proposal that had been ordered already",
    advice=lambda _: "Find out which order is meant, and call the other off.",
)
