"""Order without approval: orders for more than was approved, in quantity or in money, and beyond the cap.

The door refuses such an order; what is posted straight as an event is recorded all the same, and is on its way. A row
is one order, named by its placement; it is gone once so much is approved, or the order was called off with nothing
received.
"""

from service.assessing.exceptions import Count, Inquiry, Place, Report, Row, Severity, counts, newest
from service.assessing.grounds import as_read
from service.domain.ordering.order import Order

NAME = "ordered-without-approval"


async def rows(inquiry: Inquiry, before: Place | None, limit: int) -> list[Row]:
    """Give the orders, newest first."""
    return newest(await _every(inquiry), before, limit)


async def count(inquiry: Inquiry) -> list[Count]:
    """Count them by site."""
    return counts(inquiry, NAME, await _every(inquiry))


async def _every(inquiry: Inquiry) -> list[Row]:
    orders = (await inquiry.book()).unapproved
    return [row for order in orders if inquiry.keeps(NAME, row := _row(order))]


def _row(order: Order) -> Row:
    return Row(
        ref=order.placed.event,
        at=order.placed.at,
        site=order.site,
        unit=None,
        tag=None,
        person=order.placed.by,
        words=(NAME,),
        order=order.order,
        seqs=(order.placed.seq,),
    )


def severity(_row: Row) -> Severity:
    """Say how bad it is: money that nobody who may spend it has agreed to."""
    return "high"


def reason(row: Row) -> str:
    """Say what was found."""
    return f"order {row.order!r} is for more than was approved"


def advice(_row: Row) -> str:
    """Say what to do next."""
    return "Approve so much as `reorder-approved` if it is meant, or call the order off."


REPORT = Report(
    name=NAME,
    rows=rows,
    count=count,
    grounds=as_read,
    severity=severity,
    reason=reason,
    advice=advice,
)
