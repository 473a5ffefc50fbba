"""Ordered in another unit: lines of orders, and receipts for them, in another unit than their item is counted in.

No word says how many of one are one of the other, so that neither is added up: while such a line goes on nothing more
is proposed, and such a receipt ends no order. A row is one order or receipt; it is gone once it is corrected or voided,
and of an order once it is called off or has come.
"""

from service.assessing.exceptions import Count, Inquiry, Place, Report, Row, Severity, counts, newest
from service.assessing.grounds import as_read
from service.domain.ordering.units import Alien

NAME = "ordered-in-another-unit"


async def rows(inquiry: Inquiry, before: Place | None, limit: int) -> list[Row]:
    """Give the orders and receipts, newest first."""
    return newest(await _every(inquiry), before, limit)


async def count(inquiry: Inquiry) -> list[Count]:
    """Count them by site."""
    return counts(inquiry, NAME, await _every(inquiry))


async def _every(inquiry: Inquiry) -> list[Row]:
    return [row for one in (await inquiry.book()).aliens if inquiry.keeps(NAME, row := _row(one))]


def _row(one: Alien) -> Row:
    return Row(
        ref=one.deed.event,
        at=one.deed.at,
        site=one.site,
        unit=None,
        tag=None,
        person=one.deed.by,
        words=(NAME,),
        item=one.item,
        order=one.order,
        seqs=(one.deed.seq,),
    )


def severity(_row: Row) -> Severity:
    """Say how bad it is: a site may run out, or buy twice."""
    return "medium"


def reason(row: Row) -> str:
    """Say what was found."""
    return f"order {row.order!r} speaks of an item in another unit than it is counted in"


def advice(_row: Row) -> str:
    """Say what to do next."""
    return "Have it told again in the item's unit: void the receipt, or correct the order's lines."


REPORT = Report(
    name=NAME,
    rows=rows,
    count=count,
    grounds=as_read,
    severity=severity,
    reason=reason,
    advice=advice,
)
