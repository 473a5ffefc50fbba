"""Order without approval: orders for more than was approved, in quantity or in money, and beyond the cap.

What was approved is so for all orders of its proposal together.

The door refuses such an order; what is posted straight as an event is recorded all the same, and is on its way. A row
is one order, named by its placement; it is gone once so much is approved, or the order was called off with nothing
received.
"""

from service.assessing.exceptions import Inquiry, Row
from service.assessing.found_whole import found_whole
from service.assessing.grounds import as_read
from service.assessing.order_rows import of_order

NAME = "ordered-without-approval"


async def every(inquiry: Inquiry) -> list[Row]:
    """Give a row for each such order."""
    return [of_order(NAME, order) for order in (await inquiry.book()).unapproved]


REPORT = found_whole(
    NAME,
    every,
    grounds=as_read,
    severity="high",  # money that nobody who may spend it has agreed to
    reason=lambda row: f"order {row.order!r} is for more than was approved",
    advice=lambda _: "Approve so much as `reorder-approved` if it is meant, or call the order off.",
)
