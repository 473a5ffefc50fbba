"""Supplies: what a site has of an item, and what it used of it, week by week, by why it was used."""

from collections import defaultdict
from collections.abc import Collection, Iterable
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Final
from uuid import UUID

import msgspec

from service.assessing.condition import asking
from service.assessing.moment import Question
from service.assessing.shelves import Shelf, Told, told
from service.domain.demand.outlook import FORETOLD
from service.domain.demand.series import WEEK, by_period
from service.domain.demand.shelf_life import Lot
from service.domain.event import Event
from service.domain.kinds.filter_replaced import FilterReplaced
from service.domain.kinds.part_replaced import PartReplaced
from service.domain.kinds.recall_opened import Criterion
from service.domain.kinds.stock_received import StockReceived
from service.domain.recall.opening import Opening
from service.domain.recall.spare import of_stock
from service.domain.stock.ledger import Entry, Left, account
from service.domain.stock.lines import is_alike
from service.domain.stock.missed import missed
from service.domain.words import expiry_day

WEEKS: Final = 104
"""How far back use is looked at: two years, which have every season twice."""


class InUnit(msgspec.Struct, frozen=True):
    """So much in a unit that is not the item's."""

    unit: str
    quantity: float


class Supply(msgspec.Struct, frozen=True):
    """What there is, by lot; `short` is what was taken beyond what was told of. In the item's unit.

    What a recall that goes on reaches, or may reach, is in no lot, nor is what one that was closed is known to name:
    whatever that is put into is not to be used (R34). `recalled` is how much it is. `others` is what there is in other
    units, which nobody can add up; `arriving` what came today, of no order that is placed, and counts once the day is
    over.

    Use by week, the oldest first, up to the last Monday: foretold by a limit, a plan or a reading, and unforeseen. What
    was used under a recall is in neither.
    """

    lots: tuple[Lot, ...] = ()
    recalled: float = 0.0
    short: float = 0.0
    others: tuple[InUnit, ...] = ()
    arriving: float = 0.0
    unforeseen: tuple[float, ...] = ()
    foretold: tuple[float, ...] = ()


class Recalled(msgspec.Struct, frozen=True):
    """The criteria of recalls that go on, and of those that were closed.

    What may be of the latter counts, and what they name in units of a model alone: else what is kept without lots, or
    fits other units too, would never be there again. Of an item that was recalled whole nothing counts, since no unit
    that it is put into may be used.
    """

    open: tuple[Criterion, ...]
    closed: tuple[Criterion, ...]

    def spares(self, item: str, line: Left) -> bool:
        """Say whether stock of an item can be counted on."""
        if of_stock(self.open, item, line.lot, line.expires) is not False:
            return False
        anywhere = [one for one in self.closed if one.model is None]
        return of_stock(anywhere, item, line.lot, line.expires) is not True


async def supplies(
    question: Question, wanted: Collection[Shelf], units: dict[str, str], placed: Collection[str]
) -> dict[Shelf, Supply]:
    """Give the supplies of shelves; `units` are those that items are counted in, `placed` the orders there are."""
    known = await told(question, wanted)
    asked = list(asking(question))
    bad = Recalled(*(_criteria(one for one, over in asked if over is closed) for closed in (False, True)))
    return {shelf: _supply(question, shelf, known, units[shelf.item], bad, placed) for shelf in wanted}


def _criteria(openings: Iterable[Opening]) -> tuple[Criterion, ...]:
    return tuple(criterion for opening in openings for criterion in opening.criteria)


def monday_of(day: date) -> date:
    """Give the Monday of a day's week: history grows once a week, so that what is chosen by it keeps."""
    return day - timedelta(days=day.weekday())


def _supply(
    question: Question,
    shelf: Shelf,
    known: Told,
    unit: str,
    bad: Recalled,
    placed: Collection[str],
) -> Supply:
    books = account(known.changes[shelf])
    lines = [line for line in books.lines if is_alike(line.unit, unit)]
    strange = _others(line for line in books.lines if not is_alike(line.unit, unit))
    changes = [one for one in known.changes[shelf] if is_alike(one.unit, unit)]
    today = [one for one in known.arriving.get(shelf, ()) if is_alike(one.unit, unit)]
    strays = [one.quantity for one in today if _order(known.rows[one.event].event) not in placed]
    arriving = float(sum(strays, Decimal(0)))
    if not changes:
        return Supply(others=strange, arriving=arriving)
    there = [line for line in lines if line.quantity > 0]
    good = [line for line in there if bad.spares(shelf.item, line)]
    days = {one.event: _day(question, known, one.event, one.at, shelf.site) for one in changes}
    until = monday_of(question.world.day(question.as_at, shelf.site))
    since = max(min(days.values()), until - timedelta(weeks=WEEKS))
    fits = [(one, _reason(known.rows[one.event].event)) for one in changes if one.what == "fitted"]
    planned = [(days[one.event], float(one.quantity)) for one, reason in fits if reason in FORETOLD]
    others = [(days[one.event], float(one.quantity)) for one, reason in fits if reason not in {*FORETOLD, "recall"}]
    others += [(days[one.event], float(one.quantity)) for one in missed(_in_unit(books.entries, unit))]
    return Supply(
        lots=tuple(_lot(one) for one in good),
        recalled=float(sum(line.quantity for line in there) - sum(line.quantity for line in good)),
        short=float(-sum(line.quantity for line in lines if line.quantity < 0)),
        others=strange,
        arriving=arriving,
        unforeseen=by_period(others, since, until, WEEK),
        foretold=by_period(planned, since, until, WEEK),
    )


def _order(event: Event) -> str | None:
    """Name the order that an event is a receipt for; what came of one that is placed is told with that."""
    return event.order if isinstance(event, StockReceived) else None


def _in_unit(entries: Iterable[Entry], unit: str) -> list[Entry]:
    return [one for one in entries if is_alike(one.unit, unit)]


def _others(lines: Iterable[Left]) -> tuple[InUnit, ...]:
    sums: defaultdict[str, Decimal] = defaultdict(Decimal)
    for line in lines:
        sums[line.unit] += line.quantity
    return tuple(InUnit(unit, float(much)) for unit, much in sorted(sums.items()) if much > 0)


def _lot(line: Left) -> Lot:
    return Lot(float(line.quantity), None if line.expires is None else expiry_day(line.expires), line.lot)


def _reason(event: Event) -> str:
    """Say why a part was put in; a repair says nothing of it."""
    return event.reason if isinstance(event, FilterReplaced | PartReplaced) else "other"


def _day(question: Question, known: Told, event: UUID, at: datetime, site: str) -> date:
    return known.rows[event].event.occurred_on or question.world.day(at, site)
