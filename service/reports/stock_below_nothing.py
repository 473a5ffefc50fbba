"""Stock below nothing: lines of stock of which more was taken than was ever told of, as it is at the moment.

A row is one fall below nothing, named by the event that brought it and by the line. It is gone once something comes
that may have been it, or a count explains it: the ledger tells how.
"""

from collections.abc import Iterator
from uuid import uuid5

from service.assessing.exceptions import Count, Inquiry, Place, Report, Row, Severity, counts, newest
from service.assessing.grounds import of_stock
from service.assessing.shelves import Shelf
from service.domain.stock.ledger import Left, described, name_of

NAME = "stock-below-nothing"


async def rows(inquiry: Inquiry, before: Place | None, limit: int) -> list[Row]:
    """Give the lines below nothing, the newest first."""
    return newest(await _every(inquiry), before, limit)


async def count(inquiry: Inquiry) -> list[Count]:
    """Count them by site."""
    return counts(inquiry, NAME, await _every(inquiry))


async def _every(inquiry: Inquiry) -> list[Row]:
    return [row for row in _found(await inquiry.left()) if inquiry.keeps(NAME, row)]


def _found(left: list[tuple[Shelf, Left]]) -> Iterator[Row]:
    for shelf, line in left:
        if line.quantity < 0:
            yield Row(
                ref=uuid5(line.by, f"{NAME}/{shelf.key}/{name_of(line)}"),
                at=line.since,
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
    """Say how bad it is: the records are wrong, and whoever orders by them is misled."""
    return "medium"


def reason(row: Row) -> str:
    """Say what was found."""
    return "" if row.stock is None else f"taken beyond all that was ever told of: {described(row.stock)}"


def advice(_row: Row) -> str:
    """Say what to do next."""
    return "Count it at the site, or post what came and nobody told of: GET /v1/stock/ledger shows how it came about."


REPORT = Report(
    name=NAME,
    rows=rows,
    count=count,
    grounds=of_stock,
    severity=severity,
    reason=reason,
    advice=advice,
)
