"""Order overdue: orders of which something is still to come after the day they were expected.

One of which nobody said a day is expected in its lead time and the spread of that (`domain/ordering/waiting.py`). A row
is one order for one proposal and the day that was said, so that a new date makes another; it is gone once all has come
or the order was called off.
"""

from collections.abc import Iterator
from uuid import uuid5

from service.assessing.exceptions import Count, Inquiry, Place, Report, Row, Severity, counts, newest
from service.assessing.grounds import as_read
from service.domain.ordering.order import Order
from service.domain.ordering.waiting import Waiting

NAME = "order-overdue"


async def rows(inquiry: Inquiry, before: Place | None, limit: int) -> list[Row]:
    """Give the orders that are overdue, the newest first."""
    return newest(await _every(inquiry), before, limit)


async def count(inquiry: Inquiry) -> list[Count]:
    """Count them by site."""
    return counts(inquiry, NAME, await _every(inquiry))


async def _every(inquiry: Inquiry) -> list[Row]:
    book = await inquiry.book()
    orders = [order for told in book.orders.values() for order in told]
    return [row for order in orders for row in _of(order, book.waiting) if inquiry.keeps(NAME, row)]


def _of(order: Order, waiting: Waiting) -> Iterator[Row]:
    """Give the row of an order once the day is over where it is expected."""
    over = waiting.over_at(order)
    if over is not None:
        yield Row(
            ref=uuid5(order.placed.event, f"{NAME}/{order.expected_on}"),
            at=over,
            site=order.site,
            unit=None,
            tag=None,
            person=order.placed.by,
            words=(NAME,),
            worn=False,
            order=order.order,
            seqs=(order.placed.seq, *(one.seq for one in order.arrivals)),
        )


def severity(_row: Row) -> Severity:
    """Say how bad it is: a site may run out."""
    return "medium"


def reason(row: Row) -> str:
    """Say what was found."""
    return f"order {row.order!r} has not come in whole by the day it was expected"


def advice(_row: Row) -> str:
    """Say what to do next."""
    return "Ask the supplier, and tell the new day as a correction of the order, or call off what will not come."


REPORT = Report(
    name=NAME,
    rows=rows,
    count=count,
    grounds=as_read,
    severity=severity,
    reason=reason,
    advice=advice,
)
