"""Traces of stock: under what an event is filed, so that the stock of a site is found, and what was used there.

SITE and ITEM are refs: "shelf:SITE:ITEM" where stock of the item came, went or was counted, "fitted:SITE:ITEM" where
a new part was fitted; "adrift:ITEM" where one was and no site named: where its unit was is looked for when somebody
asks, since a later event may tell it otherwise.
"""

from collections.abc import Iterator
from typing import Final

from service.domain.event import Event, StockEvent
from service.domain.kinds.stock_moved import StockMoved
from service.domain.stock.changes import new_parts

SHELF: Final = "shelf"
FITTED: Final = "fitted"
ADRIFT: Final = "adrift"


def shelves(event: Event) -> Iterator[str]:
    """Give the traces that an event leaves."""
    if isinstance(event, StockEvent):
        sites = (event.site, event.to_site) if isinstance(event, StockMoved) else (event.site,)
        yield from (trace(SHELF, site, event.item) for site in sites)
    for part in new_parts(event):
        yield adrift(part.item) if event.site is None else trace(FITTED, event.site, part.item)


def trace(sort: str, site: str, item: str) -> str:
    """Write a trace."""
    return f"{sort}:{site}:{item}"


def adrift(item: str) -> str:
    """Write the trace of a new part that was fitted nobody said where."""
    return f"{ADRIFT}:{item}"
