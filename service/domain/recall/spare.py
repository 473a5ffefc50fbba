"""Spare stock that a recall speaks of, by site, item, lot, expiry and unit: as counted, received, moved and fitted.

It is the stock of `domain/stock` in the cautious reading (`as_said.py`): what may still be there counts as there. A
quantity without a lot may be of any; lots are the same as they are compared (R34), shown as last written where some
came or was counted. What was taken without a lot may have been of any (`as_said.py`), so all that was told of its item
there is needed to tell what is left (`half_told`). Voided events do not count. What is put there by a day alone that is
not over may be there from its beginning (`arriving`); what is taken on it may be there until its end.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from decimal import Decimal

import msgspec
from msgspec.structs import replace

from service.domain.event import StockEvent
from service.domain.kinds.recall_opened import Criterion
from service.domain.part import Part
from service.domain.recall.matching import Match, any_of, match_part, speaks_of_parts
from service.domain.standing import BEGINNING
from service.domain.stock.as_said import ByDay, as_said
from service.domain.stock.changes import Change, Telling, changes_of
from service.domain.stock.keeping import Kept, keep
from service.domain.stock.lines import Line
from service.domain.stock.shelf import total

Day = tuple[datetime, datetime, Telling]
"""What states a day alone, from its beginning to its end."""


class Spare(msgspec.Struct, frozen=True):
    """A quantity of one lot at one site; `certain` is false where what decides is not on record."""

    site: str
    item: str
    lot: str | None
    expires: str | None
    quantity: float
    unit: str | None
    certain: bool


def spares(
    told: Iterable[tuple[datetime, Telling]],
    criteria: Iterable[Criterion],
    units: Mapping[str, str],
    days: Iterable[Day] = (),
) -> list[Spare]:
    """Give what is left of what the criteria speak of.

    `told` are the events, each with its instant; `units` are those that items are counted in. `days` are the
    events that state a day alone, also one that is not over: what came on it may have been there since it began.
    """
    lines: dict[Line, Kept] = {}
    every = (change for at, event in told for change in changes_of(at, event, units))
    for _ in keep(every, as_said(_by_day(days, units)), lines):
        pass
    return _spoken_of({line: (kept.said, total(kept.shelf)) for line, kept in lines.items()}, criteria)


def half_told(events: Sequence[Telling], units: Mapping[str, str]) -> set[tuple[str, str]]:
    """Name the sites and items where some came without a lot, and some was taken without one, which may be another."""
    if not any(isinstance(event, StockEvent) and event.lot is None for event in events):
        return set()
    every = (change for event in events for change in changes_of(BEGINNING, event, units))
    told = [(change.step, (change.site, change.item)) for change in every if change.lot is None]
    came, taken = ({shelf for step, shelf in told if (step == "take") is out} for out in (False, True))
    return came & taken


def arriving(
    told: Iterable[tuple[datetime, Telling]],
    coming: Iterable[tuple[datetime, Telling]],
    criteria: Iterable[Criterion],
    units: Mapping[str, str],
    days: Iterable[Day] = (),
) -> list[Spare]:
    """Give what there may be beside what is left of what was `told`, by what is said of days that are not over.

    Of each line that is the most that any of it says there is more than before; what it takes is still there.
    """
    ahead = {change for at, event in coming for change in changes_of(at, event, units) if change.step != "take"}
    if not ahead:
        return []
    before = [change for at, event in told for change in changes_of(at, event, units)]
    events = {change.event for change in ahead}
    left: dict[Line, Decimal] = {}
    more: dict[Line, tuple[Change, Decimal]] = {}
    for change, turns in keep((*before, *ahead), as_said(_by_day(days, units)), {}):
        for turn in turns if change.event in events else ():
            beyond = total(turn.after) - left.setdefault(turn.line, total(turn.before))
            if beyond > more.get(turn.line, (turn.change, Decimal()))[1]:
                more[turn.line] = (turn.change, beyond)
    return [replace(one, certain=False) for one in _spoken_of(more, criteria)]


def _by_day(days: Iterable[Day], units: Mapping[str, str]) -> Iterator[ByDay]:
    """Give what is said of days."""
    for begins, ends, event in days:
        yield from ((begins, change) for change in changes_of(ends, event, units))


def _spoken_of(lines: Mapping[Line, tuple[Change, Decimal]], criteria: Iterable[Criterion]) -> list[Spare]:
    """Give how much there is of the lines that the criteria speak of."""
    of_parts = [criterion for criterion in criteria if speaks_of_parts(criterion)]
    said = [(one, float(left)) for _, (one, left) in sorted(lines.items())]
    found = [(one, left, of_stock(of_parts, one.item, one.lot, one.expires)) for one, left in said]
    return [
        Spare(one.site, one.item, one.lot, one.expires, left, one.unit, certain=match is True)
        for one, left, match in found
        if match is not False and left > 0
    ]


def of_stock(criteria: Iterable[Criterion], item: str, lot: str | None, expires: str | None) -> Match:
    """Say whether criteria speak of stock of an item, a lot and an expiry: of what unit it will sit in nobody knows."""
    part = Part(item=item, lot=lot, expires=expires, condition="new")
    return any_of(match_part(one, one.model or "", part) for one in criteria if speaks_of_parts(one))
