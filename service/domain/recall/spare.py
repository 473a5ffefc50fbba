"""Spare stock that a recall speaks of, by site, item, lot, expiry and unit: as counted, received, moved and fitted.

A count says what is there; what comes and goes after it is added and taken off, place by place (`shelf.py`). What was
fitted new, by a change or a repair, is taken off the stock of the site where that was said to be. A quantity without a
lot may be of any; lots are the same as they are compared (R34), shown as last written where some came or was counted.
Voided events do not count.

**Expiries.** Stock of two expiries is two lines. A lot that has one expiry on record at its site has it wherever none
is said; without a lot, stock of no expiry on record is a line of its own, since it may have any.

**Units.** Stock in two units is two lines: an item says how many a pack has, but no word says which unit is that pack,
so nothing is converted. C62, EA and each are one unit. Parts are fitted one by one, so that they come off what is kept
in the unit of their item, or in ones where that is not defined: an opened box is a box until it is counted.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from datetime import date, datetime
from typing import Final, Literal, NamedTuple

import msgspec

from service.domain.event import StockEvent
from service.domain.kinds.filter_replaced import FilterReplaced
from service.domain.kinds.part_replaced import PartReplaced
from service.domain.kinds.recall_opened import Criterion
from service.domain.kinds.repaired import Repaired
from service.domain.kinds.stock_counted import StockCounted
from service.domain.kinds.stock_discarded import StockDiscarded
from service.domain.kinds.stock_moved import StockMoved
from service.domain.kinds.stock_received import StockReceived
from service.domain.label import sorting
from service.domain.part import Part
from service.domain.parts_told import parts_of
from service.domain.recall.matching import Match, any_of, match_part, speaks_of_parts
from service.domain.recall.shelf import Shelf, count, put, take, total
from service.domain.words import expiry_day

Fit = FilterReplaced | PartReplaced | Repaired


ONE: Final = "C62"
ONES: Final = frozenset({"C62", "EA", "EACH"})
"""How a single piece is written: "one" and "each" of UN/ECE Recommendation 20, and the word itself."""
STEPS: Final = {"put": put, "take": take, "count": count}
Lot = tuple[str, str, str]
"""Site, item and lot, as they are compared."""
Line = tuple[str, str, str, str, str]
"""What tells stock apart: site, item, lot, day of expiry and unit, as they are compared; "" where none was said."""


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
    """What an event says of the stock of a site."""

    at: datetime
    step: Literal["put", "take", "count"]
    site: str
    item: str
    lot: str | None
    expires: str | None
    unit: str
    quantity: float
    place: str | None = None


def spares(
    told: Iterable[tuple[datetime, StockEvent | Fit]], criteria: Iterable[Criterion], units: Mapping[str, str]
) -> list[Spare]:
    """Give what is left of what the criteria speak of.

    `told` are the events, each with its instant; `units` are those that items are counted in.
    """
    of_parts = [criterion for criterion in criteria if speaks_of_parts(criterion)]
    changes = [change for at, event in told for change in _changes(at, event, units)]
    expiries = _expiries(changes)
    shelves: dict[Line, Shelf] = defaultdict(Shelf)
    last: dict[Line, _Change] = {}
    for change in sorted(changes, key=_order):
        full = change._replace(expires=change.expires or expiries.get(_lot(change)))
        line = _line(full)
        shelves[line] = STEPS[full.step](shelves[line], full.place, full.quantity)
        last[line] = last.get(line, full) if full.step == "take" else full
    found = [(last[line], total(shelves[line]), _match(last[line], of_parts)) for line in sorted(shelves)]
    return [
        Spare(one.site, one.item, one.lot, one.expires, left, one.unit, certain=match is True)
        for one, left, match in found
        if match is not False and left > 0
    ]


def _order(change: _Change) -> tuple[object, ...]:
    """Put what came at an instant before what went, and a count last: of a place after that of the site."""
    placed = change.place is not None
    step = {"put": 0, "take": 1 if placed else 2, "count": 4 if placed else 3}[change.step]
    return change.at, step, change.place or "", change.quantity, change.lot or "", change.expires or "", change.unit


def _expiries(changes: Iterable[_Change]) -> dict[Lot, str]:
    """Give the expiry of each lot that has one on record at its site."""
    found: dict[Lot, dict[date, str]] = defaultdict(dict)
    for change in changes:
        if change.lot is not None and change.expires is not None:
            said, day = found[_lot(change)], expiry_day(change.expires)
            said[day] = min(change.expires, said.get(day, change.expires))
    return {lot: next(iter(said.values())) for lot, said in found.items() if len(said) == 1}


def _lot(change: _Change) -> Lot:
    return change.site, change.item, "" if change.lot is None else sorting(change.lot)


def _line(change: _Change) -> Line:
    expires = "" if change.expires is None else expiry_day(change.expires).isoformat()
    unit = change.unit.upper()
    return *_lot(change), expires, ONE if unit in ONES else unit


def _match(level: _Change, criteria: list[Criterion]) -> Match:
    part = Part(item=level.item, lot=level.lot, expires=level.expires, condition="new")
    return any_of(match_part(one, one.model or "", part) for one in criteria)


def _changes(at: datetime, event: StockEvent | Fit, units: Mapping[str, str]) -> Iterator[_Change]:
    if isinstance(event, Fit):
        for part in parts_of(event):
            if part.condition == "new" and event.site is not None:
                unit = units.get(part.item, ONE)
                yield _Change(at, "take", event.site, part.item, part.lot, part.expires, unit, 1.0)
        return
    told = _Change(at, "put", event.site, event.item, event.lot, event.expires, event.unit, event.quantity)
    if isinstance(event, StockReceived):
        yield told._replace(place=event.place)
    elif isinstance(event, StockCounted):
        yield told._replace(step="count", place=event.place)
    elif isinstance(event, StockDiscarded):
        yield told._replace(step="take", place=event.place)
    elif isinstance(event, StockMoved):
        yield told._replace(step="take")
        yield told._replace(site=event.to_site)
