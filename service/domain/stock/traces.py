"""Traces of stock: under what an event is filed, so that the stock of a site is found, and what was used there.

SITE and ITEM are refs: "shelf:SITE:ITEM" where stock of the item came, went or was counted, "fitted:SITE:ITEM" where
a new part was fitted.
"""

from collections.abc import Iterator
from typing import Final

from service.domain.event import Event, StockEvent
from service.domain.kinds.stock_moved import StockMoved
from service.domain.stock.changes import new_parts

SHELF: Final = "shelf"
FITTED: Final = "fitted"


def shelves(event: Event) -> Iterator[str]:
    """Give the traces that an event leaves."""
    if isinstance(event, StockEvent):
        sites = (event.site, event.to_site) if isinstance(event, StockMoved) else (event.site,)
        yield from (trace(SHELF, site, event.item) for site in sites)
    if event.site is not None:
        yield from (trace(FITTED, event.site, part.item) for part in new_parts(event))


def trace(sort: str, site: str, item: str) -> str:
    """Write a trace."""
    return f"{sort}:{site}:{item}"
