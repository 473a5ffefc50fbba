"""Order without proposal: orders for a proposal that nobody knows, or that their key does not reach.

The first is on its way to the site that it names; the second counts for nothing. A row is one placement, told at the
site that it names; it is gone once it is voided, or the proposal is known.
"""

from service.assessing.exceptions import Count, Inquiry, Place, Report, Row, Severity, counts, newest
from service.assessing.grounds import as_read
from service.domain.kinds.order_placed import OrderPlaced
from service.domain.ordering.acts import Said

NAME = "order-without-proposal"


async def rows(inquiry: Inquiry, before: Place | None, limit: int) -> list[Row]:
    """Give the placements, newest first."""
    return newest(await _every(inquiry), before, limit)


async def count(inquiry: Inquiry) -> list[Count]:
    """Count them by site."""
    return counts(inquiry, NAME, await _every(inquiry))


async def _every(inquiry: Inquiry) -> list[Row]:
    return [row for said in (await inquiry.book()).unknown if inquiry.keeps(NAME, row := _row(said))]


def _row(said: Said[OrderPlaced]) -> Row:
    event = said.event
    return Row(
        ref=event.id,
        at=said.at,
        site=event.site,
        unit=None,
        tag=None,
        person=event.by,
        words=(NAME,),
        order=event.order,
        seqs=(said.row.seq,),
    )


def severity(_row: Row) -> Severity:
    """Say how bad it is: what was needed is proposed all the same, and may be ordered twice."""
    return "medium"


def reason(row: Row) -> str:
    """Say what was found."""
    return f"order {row.order!r} is for a proposal that nobody knows at the sites of its sender"


def advice(_row: Row) -> str:
    """Say what to do next."""
    return "Void it, and have it told of for a proposal of /v1/reorders, by a key of the site that it is for."


REPORT = Report(
    name=NAME,
    rows=rows,
    count=count,
    grounds=as_read,
    severity=severity,
    reason=reason,
    advice=advice,
)
