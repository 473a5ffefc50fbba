"""Received without order: receipts that name an order which nobody placed for their site, nor one of its lines.

The goods are in stock all the same. A row is one receipt; it is gone once the order is told of. A receipt that names no
order is no exception: not all that comes was ordered here.
"""

from service.assessing.exceptions import Inquiry, Row
from service.assessing.found_whole import found_whole
from service.assessing.grounds import as_read
from service.assessing.order_rows import of_deed
from service.domain.ordering.acts import deed_of

NAME = "received-without-order"


async def every(inquiry: Inquiry) -> list[Row]:
    """Give a row for each such receipt."""
    strays = (await inquiry.book()).strays
    return [of_deed(NAME, deed_of(said), site=said.event.site, order=said.event.order) for said in strays]


REPORT = found_whole(
    NAME,
    every,
    grounds=as_read,
    severity="low",  # a number that was mistyped, or an order that nobody told of
    reason=lambda row: f"received for order {row.order!r}, which nobody placed for this site",
    advice=lambda _: "Void the receipt and post it with the right number, or have the order told of as `order-placed`.",
)
