"""Approved, not ordered: approvals that no order followed in as long as an order takes to come.

What was approved counts as on its way at first, since it was decided; from then on it does not, so that what is needed
is proposed anew. A row is one approval; it is gone once it is ordered, or voided.
"""

from collections.abc import Iterator

from service.assessing.exceptions import Inquiry, Row
from service.assessing.found_whole import found_whole
from service.assessing.grounds import as_read
from service.assessing.order_rows import of_deed
from service.domain.ordering.life import Life
from service.domain.ordering.waiting import Waiting

NAME = "approved-not-ordered"


async def every(inquiry: Inquiry) -> list[Row]:
    """Give a row for each such approval."""
    book = await inquiry.book()
    return [row for life in book.lives.values() for row in _of(life, book.waiting)]


def _of(life: Life, waiting: Waiting) -> Iterator[Row]:
    over, approval = waiting.stale_at(life), life.approval
    if over is not None and approval is not None:
        yield of_deed(NAME, approval.deed, site=approval.site, at=over)


REPORT = found_whole(
    NAME,
    every,
    grounds=as_read,
    severity="medium",  # a site may run out
    reason=lambda _: "it was approved, and nobody told of an order in as long as one takes to come",
    advice=lambda _: "Order it and have that told, or void the approval: it counts as on its way no more.",
)
