"""Expired stock: lines of stock past their last day that are still there at the moment asked about.

A row is one line, named by it, and came about when its last day was over at the site, or when it came there later. It
is gone once the stock is discarded, fitted, moved or counted away.
"""

from collections.abc import Iterable, Iterator

from service.assessing.exceptions import Inquiry, Row
from service.assessing.found_whole import found_whole
from service.assessing.grounds import of_stock
from service.assessing.shelves import Shelf
from service.assessing.stock_rows import of_line
from service.domain.calendar import day_end
from service.domain.stock.ledger import Left, described
from service.domain.words import expiry_day

NAME = "expired-stock"


async def every(inquiry: Inquiry) -> list[Row]:
    """Give a row for each expired line that is there."""
    return list(_found(inquiry, await inquiry.left()))


def _found(inquiry: Inquiry, left: Iterable[tuple[Shelf, Left]]) -> Iterator[Row]:
    question = inquiry.question
    for shelf, line in left:
        if line.quantity > 0 and line.expires is not None:
            last_day = expiry_day(line.expires)
            over = day_end(last_day, question.world.zone_on(shelf.site, last_day))
            yield of_line(NAME, shelf, line, under=question.organisation, at=max(line.since, over))


REPORT = found_whole(
    NAME,
    every,
    grounds=of_stock,
    severity="medium",  # it may be fitted, and a part past its shelf life is not to be used
    reason=lambda row: "" if row.stock is None else f"past its last day and still there: {described(row.stock)}",
    advice=lambda _: "Take it off the shelf and post it as discarded; if it is not there any more, count what is.",
)
