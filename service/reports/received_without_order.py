"""Received without order: receipts that name an order which nobody placed for their site, nor one of its lines.

The goods are in stock all the same. A row is one receipt; it is gone once the order is told of. A receipt that names no
order is no exception: not all that comes was ordered here.
"""

from service.assessing.exceptions import Count, Inquiry, Place, Report, Row, Severity, counts, newest
from service.assessing.grounds import as_read
from service.domain.kinds.stock_received import StockReceived
from service.domain.ordering.acts import Said

NAME = "received-without-order"


async def rows(inquiry: Inquiry, before: Place | None, limit: int) -> list[Row]:
    """Give the receipts, newest first."""
    return newest(await _every(inquiry), before, limit)


async def count(inquiry: Inquiry) -> list[Count]:
    """Count them by site."""
    return counts(inquiry, NAME, await _every(inquiry))


async def _every(inquiry: Inquiry) -> list[Row]:
    strays = (await inquiry.book()).strays
    return [row for said in strays if inquiry.keeps(NAME, row := _row(said))]


def _row(said: Said[StockReceived]) -> Row:
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
    """Say how bad it is: a number that was mistyped, or an order that nobody told of."""
    return "low"


def reason(row: Row) -> str:
    """Say what was found."""
    return f"received for order {row.order!r}, which nobody placed for this site"


def advice(_row: Row) -> str:
    """Say what to do next."""
    return "Void the receipt and post it with the right number, or have the order told of as `order-placed`."


REPORT = Report(
    name=NAME,
    rows=rows,
    count=count,
    grounds=as_read,
    severity=severity,
    reason=reason,
    advice=advice,
)
