"""Forms of a list that are one piece from their beginning to their end: a table, and an EPCIS document."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import datetime
from typing import ClassVar, Final, Protocol, cast

from service.http import tables
from service.http.negotiation import CSV, JSON_LD, media_of
from service.http.request import Asked, names_of
from service.outbound.epcis import document
from service.outbound.epcis.names import Names
from service.page import Page


class Sheet(Protocol):
    """How a list is written: its beginning with the first page, what each further page adds, and its end."""

    media: ClassVar[str]
    end: ClassVar[bytes]

    def begun(self, page: Page) -> bytes:
        """Write the beginning and the first page."""

    def more(self, page: Page) -> bytes:
        """Write a further page."""


class Table:
    """A table of a route's columns."""

    media: ClassVar = tables.CSV_MEDIA
    end: ClassVar = b""

    def __init__(self, request: Asked) -> None:
        self.columns: Sequence[str] = request.route_handler.opt["columns"]

    def begun(self, page: Page) -> bytes:
        """Write the header line and the first lines."""
        return tables.written(self.columns, lines(self.columns, page))

    def more(self, page: Page) -> bytes:
        """Write further lines."""
        return tables.rows(self.columns, lines(self.columns, page))


class EpcisSheet:
    """An EPCIS document of the events of pages."""

    media: ClassVar = JSON_LD
    end: ClassVar = document.CLOSED

    def __init__(self, request: Asked) -> None:
        self.names: Names = names_of(request)
        self.empty = True

    def begun(self, page: Page) -> bytes:
        """Write what stands before the events, and the first of them."""
        return document.opened(self.names, cast("datetime", page.about["known_at"])) + self.more(page)

    def more(self, page: Page) -> bytes:
        """Write further events."""
        written = document.listed(page.items, first=self.empty)
        self.empty = self.empty and not page.items
        return written


SHEETS: Final[Mapping[str, Callable[[Asked], Sheet]]] = {CSV: Table, JSON_LD: EpcisSheet}


def sheet_of(request: Asked) -> Sheet | None:
    """Give how the answer is written where its form is a sheet."""
    made = SHEETS.get(media_of(request))
    return None if made is None else made(request)


def lines(columns: Sequence[str], page: Page) -> Iterator[Mapping[str, object]]:
    """Give the items of a page, each with the moments that its columns tell: a line of a table stands by itself."""
    named = {column.partition(".")[0] for column in columns}
    shared = {name: value for name, value in page.about.items() if name in named}
    return ({**shared, **item} for item in page.items)
