"""Order overdue: orders of which something is still to come after the day they were expected.

One of which nobody said a day is expected in its lead time and the spread of that (`domain/ordering/waiting.py`). A row
is one order for one proposal and the day that was said, so that a new date makes another; it is gone once all has come
or the order was called off.
"""

from collections.abc import Iterator
from uuid import uuid5

from msgspec.structs import replace

from service.assessing.exceptions import Inquiry, Row
from service.assessing.found_whole import found_whole
from service.assessing.grounds import as_read
from service.assessing.order_rows import of_order
from service.domain.ordering.order import Order
from service.domain.ordering.waiting import Waiting

NAME = "order-overdue"


async def every(inquiry: Inquiry) -> list[Row]:
    """Give a row for each order that is overdue."""
    book = await inquiry.book()
    return [row for told in book.orders.values() for order in told for row in _of(order, book.waiting)]


def _of(order: Order, waiting: Waiting) -> Iterator[Row]:
    """Give the row of an order once the day is over where it is expected."""
    over = waiting.over_at(order)
    if over is not None:
        yield replace(
            of_order(NAME, order),
            ref=uuid5(order.placed.event, f"{NAME}/{order.expected_on}"),
            at=over,
            worn=False,
            seqs=(order.placed.seq, *(one.seq for one in order.arrivals)),
        )


REPORT = found_whole(
    NAME,
    every,
    grounds=as_read,
    severity="medium",  # a site may run out
    reason=lambda row: f"order {row.order!r} has not come in whole by the day it was expected",
    advice=lambda _: (
        "Ask the supplier, and tell the new day as a correction of the order, or call off what will not come."
    ),
)
