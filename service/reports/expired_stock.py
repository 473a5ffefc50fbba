"""Expired stock: lines of stock past their last day that are still there at the moment asked about.

A row is one line, named by it, and came about when its last day was over at the site, or when it came there later. It
is gone once the stock is discarded, fitted, moved or counted away.
"""

from collections.abc import Iterator
from uuid import uuid5

from service.assessing.exceptions import Count, Inquiry, Place, Report, Row, Severity, counts, newest
from service.assessing.grounds import of_stock
from service.assessing.shelves import Shelf
from service.domain.calendar import day_end
from service.domain.stock.ledger import Left, described, name_of
from service.domain.words import expiry_day

NAME = "expired-stock"


async def rows(inquiry: Inquiry, before: Place | None, limit: int) -> list[Row]:
    """Give the expired lines, the newest first."""
    return newest(await _every(inquiry), before, limit)


async def count(inquiry: Inquiry) -> list[Count]:
    """Count them by site."""
    return counts(inquiry, NAME, await _every(inquiry))


async def _every(inquiry: Inquiry) -> list[Row]:
    return [row for row in _found(inquiry, await inquiry.left()) if inquiry.keeps(NAME, row)]


def _found(inquiry: Inquiry, left: list[tuple[Shelf, Left]]) -> Iterator[Row]:
    question = inquiry.question
    for shelf, line in left:
        if line.quantity > 0 and line.expires is not None:
            last_day = expiry_day(line.expires)
            yield Row(
                ref=uuid5(question.organisation, f"{NAME}/{shelf.key}/{name_of(line)}"),
                at=max(line.since, day_end(last_day, question.world.zone_on(shelf.site, last_day))),
                site=shelf.site,
                unit=None,
                tag=None,
                person=None,
                words=(NAME,),
                worn=False,
                item=shelf.item,
                stock=line,
            )


def severity(_row: Row) -> Severity:
    """Say how bad it is: it may be fitted, and a part past its shelf life is not to be used."""
    return "medium"


def reason(row: Row) -> str:
    """Say what was found."""
    return "" if row.stock is None else f"past its last day and still there: {described(row.stock)}"


def advice(_row: Row) -> str:
    """Say what to do next."""
    return "Take it off the shelf and post it as discarded; if it is not there any more, count what is."


REPORT = Report(
    name=NAME,
    rows=rows,
    count=count,
    grounds=of_stock,
    severity=severity,
    reason=reason,
    advice=advice,
)
