"""Stock below nothing: lines of stock of which more was taken than was ever told of, as it is at the moment.

A row is one fall below nothing, named by the event that brought it and by the line. It is gone once something comes
that may have been it, or a count explains it: the ledger tells how.
"""

from service.assessing.exceptions import Inquiry, Row
from service.assessing.found_whole import found_whole
from service.assessing.grounds import of_stock
from service.assessing.stock_rows import of_line
from service.domain.stock.ledger import described

NAME = "stock-below-nothing"


async def every(inquiry: Inquiry) -> list[Row]:
    """Give a row for each line below nothing."""
    left = await inquiry.left()
    return [of_line(NAME, shelf, line, under=line.by, at=line.since) for shelf, line in left if line.quantity < 0]


REPORT = found_whole(
    NAME,
    every,
    grounds=of_stock,
    severity="medium",  # the records are wrong, and whoever orders by them is misled
    reason=lambda row: "" if row.stock is None else f"taken beyond all that was ever told of: {described(row.stock)}",
    advice=lambda _: (
        "Count it at the site, or post what came and nobody told of: GET /v1/stock/ledger shows how it came about."
    ),
)
