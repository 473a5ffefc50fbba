"""Ordered in another unit: lines of orders, and receipts for them, in another unit than their item is counted in.

No word says how many of one are one of the other, so that neither is added up: while such a line goes on nothing more
is proposed, and such a receipt ends no order. A row is one order or receipt; it is gone once it is corrected or voided,
and of an order once it is called off or has come.
"""

from service.assessing.exceptions import Inquiry, Row
from service.assessing.found_whole import found_whole
from service.assessing.grounds import as_read
from service.assessing.order_rows import of_deed

NAME = "ordered-in-another-unit"


async def every(inquiry: Inquiry) -> list[Row]:
    """Give a row for each such order and receipt."""
    aliens = (await inquiry.book()).aliens
    return [of_deed(NAME, one.deed, site=one.site, order=one.order, item=one.item) for one in aliens]


REPORT = found_whole(
    NAME,
    every,
    grounds=as_read,
    severity="medium",  # a site may run out, or buy twice
    reason=lambda row: f"order {row.order!r} speaks of an item in another unit than it is counted in",
    advice=lambda _: "Have it told again in the item's unit: void the receipt, or correct the order's lines.",
)
