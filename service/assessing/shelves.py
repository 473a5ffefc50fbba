"""Shelves: an item at a site, found by what its events are filed under, and the changes that they tell of it."""

from collections.abc import Collection, Iterable, Mapping
from datetime import UTC, date, datetime, time
from typing import Final, NamedTuple
from uuid import UUID

import msgspec
from msgspec.structs import replace

from service.assessing.catalogue import items_of
from service.assessing.homes import homes, items_adrift
from service.assessing.moment import Question
from service.assessing.taken_back import taken_back
from service.domain.event import StockEvent
from service.domain.facts import instant, lasting
from service.domain.recall.traces import lot_of
from service.domain.recorded import Recorded
from service.domain.stock.arrivals import Lot, expiries_of, lots_to_look_for, with_expiries_of
from service.domain.stock.changes import Change, Telling, changes_of
from service.domain.stock.traces import FITTED, SHELF, trace
from service.recording.loading import FILED_EARLIER
from service.store.events_between_subjects import events_between_subjects
from service.store.events_by_ids import events_by_ids
from service.store.events_of_subjects import events_of_subjects
from service.store.subjects_after import subjects_after
from service.store.subjects_known import subjects_known

EVERY: Final = (SHELF, FITTED)
"""What is filed of stock and of use."""


class Shelf(NamedTuple):
    """An item at a site."""

    site: str
    item: str

    @property
    def key(self) -> str:
        """Give its place in the order of lists: that of the index."""
        return trace("", *self)[1:]


class Wanted(msgspec.Struct, frozen=True, kw_only=True):
    """Which shelves: of some sites (None: of all), of one item (None: of any).

    `adrift` are those of which parts were fitted nobody said where: no trace leads to them (`with_adrift`).
    """

    sites: frozenset[str] | None = None
    item: str | None = None
    adrift: frozenset[Shelf] = frozenset()

    def has(self, shelf: Shelf) -> bool:
        """Say whether a shelf is one of them."""
        return (self.sites is None or shelf.site in self.sites) and self.item in {None, shelf.item}


class Told(msgspec.Struct, frozen=True):
    """The changes of shelves at the moment as known, and what was recorded of them by event.

    `ahead` says that some of it had not happened yet. Of `borrowing` shelves an expiry rests on what is told elsewhere.
    Of `adrift` items parts were fitted nobody said where: they count where their units were. `arriving` is what was put
    there on a day that is not over, or by a fast clock: it is no change before.
    """

    changes: Mapping[Shelf, list[Change]]
    rows: Mapping[UUID, Recorded]
    ahead: bool
    borrowing: frozenset[Shelf] = frozenset()
    adrift: frozenset[str] = frozenset()
    arriving: Mapping[Shelf, list[Change]] = {}


async def shelves(question: Question, wanted: Wanted, sorts: Iterable[str], after: str, limit: int) -> list[Shelf]:
    """Give at most `limit` shelves past a key in order, of which something of some sorts was ever filed."""
    every = list(sorts)
    found = {shelf for sort in every for shelf in await _of_sort(question, wanted, sort, after, limit)}
    if FITTED in every:
        found |= {shelf for shelf in wanted.adrift if shelf.key > after and wanted.has(shelf)}
    return sorted(found, key=lambda shelf: shelf.key)[:limit]


async def with_adrift(question: Question, wanted: Wanted, since: date) -> Wanted:
    """Find the shelves of which parts were fitted nobody said where, from a day on."""
    items = await items_adrift(question) if wanted.item is None else [wanted.item]
    found = (Shelf(one.site, one.item) for one in await homes(question, items, _begin(since)))
    return replace(wanted, adrift=frozenset(shelf for shelf in found if wanted.has(shelf)))


def _begin(since: date) -> datetime:
    """Give the moment from which on events of a day are filed."""
    return datetime.combine(since, time(), UTC) - FILED_EARLIER


async def _of_sort(question: Question, wanted: Wanted, sort: str, after: str, limit: int) -> list[Shelf]:
    conn, organisation = question.conn, question.organisation
    if wanted.item is None:
        beginnings = [f"{sort}:"] if wanted.sites is None else [f"{sort}:{site}:" for site in wanted.sites]
        found = await subjects_after(conn, organisation, beginnings, after=f"{sort}:{after}", limit=limit)
    else:
        sites = question.sites if wanted.sites is None else wanted.sites
        named = (Shelf(site, wanted.item) for site in sites)
        asked = sorted(trace(sort, *shelf) for shelf in named if shelf.key > after)
        found = (await subjects_known(conn, organisation, asked))[:limit]
    return [Shelf(*subject.split(":")[1:]) for subject in found]


async def told(question: Question, wanted: Collection[Shelf], *, since: date | None = None) -> Told:
    """Read what events tell of shelves up to the moment, perhaps from a day on; one that was taken back tells nothing.

    What lies up to some days before the day may be among it.
    """
    begin = None if since is None else _begin(since)
    conn, organisation, until = question.conn, question.organisation, question.judged_to
    subjects = [trace(sort, *shelf) for shelf in wanted for sort in EVERY]
    rows = await events_of_subjects(conn, organisation, subjects, since=begin, until_seq=until)
    sites = {shelf.site for shelf in wanted}
    fits = await homes(question, sorted({shelf.item for shelf in wanted}), begin)
    home_of = {one.event: one.site for one in fits if one.site in sites}
    if home_of:
        rows += [one.recorded for one in (await events_by_ids(conn, organisation, home_of)).values()]
    gone = await taken_back(question, rows)
    units = {ref: item.unit for ref, item in items_of(question).items()}
    changes: dict[Shelf, list[Change]] = {shelf: [] for shelf in wanted}
    arriving: dict[Shelf, list[Change]] = {shelf: [] for shelf in wanted}
    ahead = False
    for row in rows:
        home = home_of.get(row.event.id)
        at = instant(row.event, home, question.world)
        ahead = ahead or at > question.as_at
        if isinstance(row.event, Telling) and row.event.id not in gone and at <= question.as_at:
            day = _day_of_fit(question, row.event, at, home)
            for change in changes_of(at, row.event, units, home, day):
                changes.get(Shelf(change.site, change.item), []).append(change)
        elif isinstance(row.event, StockEvent) and row.event.id not in gone and _has_begun(question, row):
            for change in changes_of(at, row.event, units):
                if change.step == "put":
                    arriving.get(Shelf(change.site, change.item), []).append(change)
    lots = {shelf: lots_to_look_for(changes[shelf]) for shelf in wanted}
    expiries = await _expiries(question, frozenset().union(*lots.values()))
    return Told(
        {shelf: with_expiries_of(said, expiries) if lots[shelf] else said for shelf, said in changes.items()},
        {row.event.id: row for row in rows},
        ahead,
        frozenset(shelf for shelf in wanted if lots[shelf]),
        frozenset(one.item for one in fits),
        arriving,
    )


def _has_begun(question: Question, row: Recorded) -> bool:
    """Say whether the day of an event has begun, or it was received by then, whatever its clock said."""
    return min(lasting(row.event, None, question.world)[0], row.received_at) <= question.as_at


def _day_of_fit(question: Question, event: Telling, at: datetime, home: str | None) -> date | None:
    """Give the local day on which a part was fitted; None of anything else, which asks for no day."""
    if isinstance(event, StockEvent):
        return None
    return event.occurred_on or question.world.day(at, event.site or home or "")


async def _expiries(question: Question, lots: Collection[tuple[str, str]]) -> Mapping[Lot, str]:
    """Give the expiries of lots that are told of stock anywhere, up to the moment."""
    if not lots:
        return {}
    where = {lot_of("stock", item, lot) for item, lot in lots}
    rows = await events_between_subjects(question.conn, question.organisation, where, until_seq=question.judged_to)
    gone = await taken_back(question, rows)
    return expiries_of(
        row.event
        for row in rows
        if isinstance(row.event, StockEvent)
        and row.event.id not in gone
        and instant(row.event, None, question.world) <= question.as_at
    )
