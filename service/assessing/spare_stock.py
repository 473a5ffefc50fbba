"""Spare stock by the events that tell of it: of what a recall speaks of, and of single lots."""

from collections.abc import Collection, Iterable, Sequence
from datetime import datetime
from typing import NamedTuple
from uuid import UUID

from service.assessing.aside import aside
from service.assessing.catalogue import items_of
from service.assessing.moment import Question
from service.assessing.taken_back import taken_back
from service.domain.event import Event, StockEvent
from service.domain.facts import lasting
from service.domain.kinds.recall_opened import Criterion
from service.domain.kinds.stock_moved import StockMoved
from service.domain.label import sorting
from service.domain.recall.matching import speaks_of_parts
from service.domain.recall.spare import Day, Spare, arriving, half_told, of_stock, spares
from service.domain.recall.traces import Stretch, lot_of, lots_of
from service.domain.recorded import Recorded
from service.domain.stock.changes import Fit, Telling
from service.store.events_between_subjects import events_between_subjects
from service.store.refs_traced import refs_traced

Lot = tuple[str, str]
"""An item, and a lot of it."""


class _Moved(NamedTuple):
    """What was told of stock up to the moment, and by days alone that have begun and are not over, each at its end.

    `days` is what of both states its day alone.
    """

    told: list[tuple[datetime, Telling]]
    coming: list[tuple[datetime, Telling]]
    days: list[Day]


async def spare_stock(question: Question, criteria: Iterable[Criterion]) -> tuple[list[Spare], list[Spare]]:
    """Give the spare stock that the criteria speak of at the moment, and what there may be by days not over."""
    of_parts = [criterion for criterion in criteria if speaks_of_parts(criterion)]
    stock, parts = [await _lots(question, of_parts, sort) for sort in ("stock", "part")]
    moved, units = await _moved(question, stock, parts), _units(question)
    many = len(moved.told) + len(moved.coming)
    left = await aside(many, lambda: spares(moved.told, of_parts, units, moved.days))
    return left, await aside(many, lambda: arriving(moved.told, moved.coming, of_parts, units, moved.days))


async def stock_events(
    question: Question, criteria: Iterable[Criterion], sites: Collection[str] | None
) -> list[Recorded]:
    """Give the events at some sites (None: all) of stock that the criteria speak of, or may: one without a lot, too."""
    of_parts = [criterion for criterion in criteria if speaks_of_parts(criterion)]
    rows = await _told(question, await _lots(question, of_parts, "stock"), sites)
    return [row for row in rows if isinstance(row.event, StockEvent) and _meant(of_parts, row.event)]


def _meant(criteria: list[Criterion], event: StockEvent) -> bool:
    return of_stock(criteria, event.item, event.lot, event.expires) is not False


async def stock_of_lots(question: Question, sites: frozenset[str] | None, lots: Collection[Lot]) -> list[Spare]:
    """Give the spare stock of lots of items, at these sites (None: at any), at the moment."""
    stock, parts = [{lot_of(sort, item, lot) for item, lot in lots} for sort in ("stock", "part")]
    meant = [Criterion(lots=tuple({lot for _, lot in lots}))]
    moved = await _moved(question, stock, parts, sites)
    left = await aside(len(moved.told), lambda: spares(moved.told, meant, _units(question), moved.days))
    there = [one for one in left if sites is None or one.site in sites]
    wanted = {(item, sorting(lot)) for item, lot in lots}
    return [one for one in there if one.lot is None or (one.item, sorting(one.lot)) in wanted]


async def items_in_stock(question: Question) -> list[str]:
    """Name the items of which stock was ever told."""
    return await refs_traced(question.conn, question.organisation, "stock")


async def _moved(
    question: Question, stock: set[Stretch], parts: set[Stretch], wanted: frozenset[str] | None = None
) -> _Moved:
    """Read the events that left such traces; parts count at sites that have stock and are wanted."""
    stocked = await _told(question, stock)
    sites = {site for row in stocked for site in sites_told(row.event) if wanted is None or site in wanted}
    if not sites:
        return _Moved([], [], [])
    rows = await _with_others(question, [*stocked, *await _told(question, parts, sites)], sites)
    gone = await taken_back(question, rows)
    return await aside(len(rows), lambda: _by_then(question, rows, gone))


def _by_then(question: Question, rows: Iterable[Recorded], gone: Collection[UUID]) -> _Moved:
    """Put each event that stands where it counts at the moment."""
    found = _Moved([], [], [])
    for event in (row.event for row in rows):
        if isinstance(event, StockEvent | Fit) and event.id not in gone:
            begins, ends = lasting(event, None, question.world)
            if begins <= question.as_at:
                (found.told if ends <= question.as_at else found.coming).append((ends, event))
                if begins < ends:
                    found.days.append((begins, ends, event))
    return found


async def _with_others(question: Question, rows: list[Recorded], wanted: Collection[str]) -> list[Recorded]:
    """Add what was told of other lots where, at a wanted site, what was taken without a lot may have been of them."""
    events = [row.event for row in rows if isinstance(row.event, StockEvent | Fit)]
    every = await aside(len(events), lambda: half_told(events, _units(question)))
    shelves = {(site, item) for site, item in every if site in wanted}
    if not shelves:
        return rows
    sites = {site for site, _ in shelves}
    whole = [Criterion(item=item) for item in sorted({item for _, item in shelves})]
    stock, parts = [{stretch for one in whole for stretch in lots_of(one, sort, ())} for sort in ("stock", "part")]
    told = [*rows, *await _told(question, stock), *await _told(question, parts, sites)]
    return [*{row.seq: row for row in told}.values()]


def _units(question: Question) -> dict[str, str]:
    """Give the units that items are counted in."""
    return {ref: item.unit for ref, item in items_of(question).items()}


async def _lots(question: Question, criteria: Sequence[Criterion], sort: str) -> set[Stretch]:
    """Give where the traces lie of stock, or of parts, of the lots that may be meant."""
    every = any(criterion.item is None for criterion in criteria)
    items = await refs_traced(question.conn, question.organisation, sort) if every else ()
    return {stretch for criterion in criteria for stretch in lots_of(criterion, sort, items)}


async def _told(question: Question, stretches: set[Stretch], sites: Collection[str] | None = None) -> list[Recorded]:
    """Give the events that left such traces; where nothing is in stock, what was fitted leaves nothing."""
    return await events_between_subjects(
        question.conn, question.organisation, stretches, until_seq=question.judged_to, sites=sites
    )


def sites_told(event: Event) -> Iterable[str]:
    """Name the sites at which an event tells of stock."""
    if isinstance(event, StockEvent):
        yield event.site
    if isinstance(event, StockMoved):
        yield event.to_site
