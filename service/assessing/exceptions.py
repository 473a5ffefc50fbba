"""Exceptions: what all reports share. What is asked, what a row says, and what a report is made of."""

from collections.abc import Awaitable, Callable, Iterable, Mapping, Sequence
from datetime import datetime
from typing import Literal
from uuid import UUID

import msgspec

from service.assessing.acknowledged import Acknowledged
from service.assessing.moment import Question
from service.assessing.orders import orders
from service.assessing.shelves import Shelf
from service.assessing.shelves import Wanted as Shelves
from service.assessing.stock_lines import every_line
from service.assessing.stories import Past, made_by_time
from service.domain.intervals import MOMENT
from service.domain.ordering.book import Book
from service.domain.stock.ledger import Left
from service.domain.wearing import Use
from service.recording.rows import Seen
from service.store.count_exceptions import Counted, count_exceptions
from service.store.exceptions_of import Chosen

Severity = Literal["high", "medium", "low"]
Place = tuple[datetime, UUID]
"""Where a page goes on: the moment and the name of the last row before it."""


class Row(msgspec.Struct, frozen=True, kw_only=True):
    """One exception. `ref` names it for good: the same finding has the same name, however the events arrived.

    `words` are from the closed lists of reasons and conflicts; `worn` says that somebody posted what was found, so
    that `ref` is an event. Of stock it has the item, and the line that it is about; `order` is the number of the order
    that it is about. `seqs` are the events that it rests on, where those were read with it.
    """

    ref: UUID
    at: datetime
    site: str | None
    words: tuple[str, ...]
    unit: UUID | None = None
    tag: str | None = None
    person: str | None = None
    worn: bool = True
    item: str | None = None
    stock: Left | None = None
    order: str | None = None
    seqs: tuple[int, ...] = ()

    @property
    def place(self) -> Place:
        """Give its place in the order of a report."""
        return (self.at, self.ref)


class Wanted(msgspec.Struct, frozen=True, kw_only=True):
    """Which rows: come about in [since, until), acknowledged or not, of a site, of these names; None asks nothing.

    `sites` are those that the answer may speak of, None for all.
    """

    site: str | None = None
    sites: frozenset[str] | None = None
    since: datetime | None = None
    until: datetime | None = None
    acknowledged: bool | None = None
    named: frozenset[UUID] | None = None


class Inquiry:
    """A question about exceptions, and what several reports need to answer it, read once."""

    def __init__(self, question: Question, wanted: Wanted, folded: Past, acknowledged: Acknowledged) -> None:
        self.question = question
        self.wanted = wanted
        self.folded = folded
        self.acknowledged = acknowledged
        self.until = min(wanted.until or question.as_at + MOMENT, question.as_at + MOMENT)
        self._by_time: list[tuple[Seen, Use]] | None = None
        self._counted: list[Counted] | None = None
        self._left: list[tuple[Shelf, Left]] | None = None
        self._book: Book | None = None

    async def book(self) -> Book:
        """Give what became of orders."""
        if self._book is None:
            self._book = await orders(self.question, None)
        return self._book

    async def by_time(self) -> list[tuple[Seen, Use]]:
        """Give the uses that time alone made since units were last folded, where any of a unit's may be of note."""
        if self._by_time is None:
            self._by_time = await made_by_time(self.question, self.folded, self.until, unsound=True)
        return self._by_time

    async def counted(self) -> list[Counted]:
        """Count what is stored, of all reports at once."""
        if self._counted is None:
            question = self.question
            self._counted = await count_exceptions(question.conn, question.organisation, self.chosen(None))
        return self._counted

    async def left(self) -> list[tuple[Shelf, Left]]:
        """Give what there is of all stock that may be spoken of, line by line, and what is below nothing."""
        if self._left is None:
            self._left = await every_line(self.question, Shelves(sites=self.wanted.sites))
        return self._left

    def chosen(self, report: str | None) -> Chosen:
        """Say which stored rows; `report` names them without, None with their report."""
        return Chosen(
            since=self.wanted.since,
            until=self.until,
            sites=self.wanted.sites,
            named=self.wanted.named,
            without=self.folded.units,
            acknowledged=self.wanted.acknowledged,
            everywhere=self.acknowledged.everywhere(report),
            there=self.acknowledged.there(report),
        )

    def keeps(self, report: str, row: Row) -> bool:
        """Say whether a row that is not stored is asked for."""
        wanted = self.wanted
        if row.at >= self.until or (wanted.since is not None and row.at < wanted.since):
            return False
        if wanted.sites is not None and row.site not in wanted.sites:
            return False
        if wanted.named is not None and row.ref not in wanted.named:
            return False
        return wanted.acknowledged in {None, self.is_acknowledged(report, row)}

    def is_acknowledged(self, report: str, row: Row) -> bool:
        """Say whether somebody with authority there has acknowledged a row."""
        return self.acknowledged.of(report, row.ref, row.site) is not None


class Count(msgspec.Struct, frozen=True):
    """How many rows there are of a site, and how many of them are acknowledged."""

    site: str | None
    rows: int
    acknowledged: int


class Report(msgspec.Struct, frozen=True, kw_only=True):
    """An exception report.

    `rows` gives so many of its rows after a place, newest first; `count` counts them by site; `grounds` names by row
    the seqs of the events that it rests on. `severity`, `reason` and `advice` say of a row how bad it is, what was
    found, and what to do next.
    """

    name: str
    rows: Callable[[Inquiry, Place | None, int], Awaitable[list[Row]]]
    count: Callable[[Inquiry], Awaitable[list[Count]]]
    grounds: Callable[[Question, Sequence[Row]], Awaitable[Mapping[UUID, list[int]]]]
    severity: Callable[[Row], Severity]
    reason: Callable[[Row], str]
    advice: Callable[[Row], str]


def newest(rows: Iterable[Row], before: Place | None, limit: int) -> list[Row]:
    """Give the first rows after a place, newest first."""
    rest = (row for row in rows if before is None or row.place < before)
    return sorted(rest, key=lambda row: row.place, reverse=True)[:limit]


def counts(inquiry: Inquiry, report: str, rows: Iterable[Row]) -> list[Count]:
    """Count rows by site."""
    found: dict[str | None, tuple[int, int]] = {}
    for row in rows:
        made, known = found.get(row.site, (0, 0))
        found[row.site] = (made + 1, known + inquiry.is_acknowledged(report, row))
    return [Count(site, *numbers) for site, numbers in found.items()]
