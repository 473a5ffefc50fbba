"""Ordered twice: proposals for which orders were placed under more than one number.

The doors let nobody do so; what is posted straight as events is recorded all the same, and both orders are on their
way. A row is one further order, named by its placement; it is gone once an order was called off with nothing received.
"""

from collections.abc import Iterator

from service.assessing.exceptions import Count, Inquiry, Place, Report, Row, Severity, counts, newest
from service.assessing.grounds import as_read
from service.domain.ordering.life import Life

NAME = "ordered-twice"


async def rows(inquiry: Inquiry, before: Place | None, limit: int) -> list[Row]:
    """Give the further orders, newest first."""
    return newest(await _every(inquiry), before, limit)


async def count(inquiry: Inquiry) -> list[Count]:
    """Count them by site."""
    return counts(inquiry, NAME, await _every(inquiry))


async def _every(inquiry: Inquiry) -> list[Row]:
    lives = (await inquiry.book()).lives.values()
    return [row for life in lives for row in _of(life) if inquiry.keeps(NAME, row)]


def _of(life: Life) -> Iterator[Row]:
    """Give a row for each order but the first, of those that something came of or may yet."""
    if not life.placed_twice:
        return
    standing = [order for order in life.orders if order.state != "cancelled"]
    for order in standing[1:]:
        yield Row(
            ref=order.placed.event,
            at=order.placed.at,
            site=order.site,
            unit=None,
            tag=None,
            person=order.placed.by,
            words=(NAME,),
            order=order.order,
            seqs=(standing[0].placed.seq, order.placed.seq),
        )


def severity(_row: Row) -> Severity:
    """Say how bad it is: money and a shelf."""
    return "medium"


def reason(row: Row) -> str:
    """Say what was found."""
    return f"order {row.order!r} is for a proposal that had been ordered already"


def advice(_row: Row) -> str:
    """Say what to do next."""
    return "Find out which order is meant, and call the other off."


REPORT = Report(
    name=NAME,
    rows=rows,
    count=count,
    grounds=as_read,
    severity=severity,
    reason=reason,
    advice=advice,
)
