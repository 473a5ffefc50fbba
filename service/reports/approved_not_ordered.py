"""Approved, not ordered: approvals that no order followed in as long as an order takes to come.

What was approved counts as on its way at first, since it was decided; from then on it does not, so that what is needed
is proposed anew. A row is one approval; it is gone once it is ordered, or voided.
"""

from service.assessing.exceptions import Count, Inquiry, Place, Report, Row, Severity, counts, newest
from service.assessing.grounds import as_read
from service.domain.ordering.life import Life
from service.domain.ordering.waiting import Waiting

NAME = "approved-not-ordered"


async def rows(inquiry: Inquiry, before: Place | None, limit: int) -> list[Row]:
    """Give the approvals, newest first."""
    return newest(await _every(inquiry), before, limit)


async def count(inquiry: Inquiry) -> list[Count]:
    """Count them by site."""
    return counts(inquiry, NAME, await _every(inquiry))


async def _every(inquiry: Inquiry) -> list[Row]:
    book = await inquiry.book()
    found = (_row(life, book.waiting) for life in book.lives.values())
    return [row for row in found if row is not None and inquiry.keeps(NAME, row)]


def _row(life: Life, waiting: Waiting) -> Row | None:
    over, approval = waiting.stale_at(life), life.approval
    if over is None or approval is None:
        return None
    return Row(
        ref=approval.deed.event,
        at=over,
        site=approval.site,
        unit=None,
        tag=None,
        person=approval.deed.by,
        words=(NAME,),
        seqs=(approval.deed.seq,),
    )


def severity(_row: Row) -> Severity:
    """Say how bad it is: a site may run out."""
    return "medium"


def reason(_row: Row) -> str:
    """Say what was found."""
    return "it was approved, and nobody told of an order in as long as one takes to come"


def advice(_row: Row) -> str:
    """Say what to do next."""
    return "Order it and have that told, or void the approval: it counts as on its way no more."


REPORT = Report(
    name=NAME,
    rows=rows,
    count=count,
    grounds=as_read,
    severity=severity,
    reason=reason,
    advice=advice,
)
