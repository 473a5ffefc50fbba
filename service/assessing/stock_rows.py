"""Rows about lines of stock: each is named by the line, under an event or the firm."""

from datetime import datetime
from uuid import UUID, uuid5

from service.assessing.exceptions import Row
from service.assessing.shelves import Shelf
from service.domain.stock.ledger import Left, name_of


def of_line(name: str, shelf: Shelf, line: Left, *, under: UUID, at: datetime) -> Row:
    """Give the row of a report about a line of a shelf, which came about at a moment."""
    return Row(
        ref=uuid5(under, f"{name}/{shelf.key}/{name_of(line)}"),
        at=at,
        site=shelf.site,
        words=(name,),
        worn=False,
        item=shelf.item,
        stock=line,
    )
