"""Spare stock that a recall speaks of, by site, item and lot: as counted, received, moved, discarded and fitted.

A count says what is there; what comes and goes after it is added and taken off. What was fitted new, by a change or a
repair, is taken off the stock of the site where that was said to be. A quantity without a lot may be of any; lots are
the same as they are compared (R34), shown as last written. Voided events do not count. This knows no places within a
site.
"""

from collections.abc import Iterable, Iterator
from datetime import datetime
from typing import NamedTuple

import msgspec

from service.domain.event import StockEvent
from service.domain.kinds.filter_replaced import FilterReplaced
from service.domain.kinds.part_replaced import PartReplaced
from service.domain.kinds.recall_opened import Criterion
from service.domain.kinds.repaired import Repaired
from service.domain.kinds.stock_counted import StockCounted
from service.domain.kinds.stock_discarded import StockDiscarded
from service.domain.kinds.stock_moved import StockMoved
from service.domain.label import sorting
from service.domain.part import Part
from service.domain.parts_told import parts_of
from service.domain.recall.matching import Match, any_of, match_part, speaks_of_parts

Fit = FilterReplaced | PartReplaced | Repaired


class Spare(msgspec.Struct, frozen=True):
    """A quantity of one lot at one site; `certain` is false where what decides is not on record."""

    site: str
    item: str
    lot: str | None
    expires: str | None
    quantity: float
    unit: str | None
    certain: bool


class _Change(NamedTuple):
    """What an event says of the stock of a site: so much more, or that it is so much."""

    at: datetime
    site: str
    item: str
    lot: str | None
    expires: str | None
    unit: str | None
    quantity: float
    counted: bool = False


def spares(told: Iterable[tuple[datetime, StockEvent | Fit]], criteria: Iterable[Criterion]) -> list[Spare]:
    """Give what is left of what the criteria speak of; `told` are the events, each with its instant."""
    of_parts = [criterion for criterion in criteria if speaks_of_parts(criterion)]
    every = (change for at, event in told for change in _changes(at, event))
    levels: dict[tuple[str, str, str], _Change] = {}
    for change in sorted(every, key=lambda one: (one.at, one.counted)):
        key = (change.site, change.item, "" if change.lot is None else sorting(change.lot))
        known = levels.get(key)
        if known is not None:
            quantity = change.quantity if change.counted else known.quantity + change.quantity
            expires, unit = change.expires or known.expires, change.unit or known.unit
            change = change._replace(quantity=quantity, expires=expires, unit=unit)  # noqa: PLW2901 - the sum so far
        levels[key] = change
    found = [(levels[key], _match(levels[key], of_parts)) for key in sorted(levels)]
    return [
        Spare(one.site, one.item, one.lot, one.expires, one.quantity, one.unit, certain=match is True)
        for one, match in found
        if match is not False and one.quantity > 0
    ]


def _match(level: _Change, criteria: list[Criterion]) -> Match:
    part = Part(item=level.item, lot=level.lot, expires=level.expires, condition="new")
    return any_of(match_part(one, one.model or "", part) for one in criteria)


def _changes(at: datetime, event: StockEvent | Fit) -> Iterator[_Change]:
    if isinstance(event, Fit):
        new = (part for part in parts_of(event) if part.condition == "new")
        if event.site is not None:
            yield from (_Change(at, event.site, part.item, part.lot, part.expires, None, -1.0) for part in new)
        return
    whole = _Change(at, event.site, event.item, event.lot, event.expires, event.unit, event.quantity)
    if isinstance(event, StockCounted):
        yield whole._replace(counted=True)
    elif isinstance(event, StockDiscarded | StockMoved):
        yield whole._replace(quantity=-event.quantity)
        if isinstance(event, StockMoved):
            yield whole._replace(site=event.to_site)
    else:
        yield whole
