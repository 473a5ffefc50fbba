"""Order without proposal: orders for a proposal that nobody knows, or that their key does not reach.

The first is on its way to the site that it names; the second counts for nothing. A row is one placement, told at the
site that it names; it is gone once it is voided, or the proposal is known.
"""

from service.assessing.exceptions import Inquiry, Row
from service.assessing.found_whole import found_whole
from service.assessing.grounds import as_read
from service.assessing.order_rows import of_deed
from service.domain.ordering.acts import deed_of

NAME = "order-without-proposal"


async def every(inquiry: Inquiry) -> list[Row]:
    """Give a row for each such placement."""
    unknown = (await inquiry.book()).unknown
    return [of_deed(NAME, deed_of(said), site=said.event.site, order=said.event.order) for said in unknown]


REPORT = found_whole(
    NAME,
    every,
    grounds=as_read,
    severity="medium",  # what was needed is proposed all the same, and may be ordered twice
    reason=lambda row: f"order {row.order!r} is for a proposal that nobody knows at the sites of its sender",
    advice=lambda _: (
        "Void it, and have it told of for a proposal of /v1/reorders, by a key of the site that it is for."
    ),
)
