"""Stock: how much of each item there is at each site, what was used there and when, at the moment as known.

For other rooms: `levels` and `uses`. Both read the events of the sites named and fold them; nothing of it is stored.
Sites are those that the question may speak of: narrow them with `sites_of` first.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from datetime import date, datetime
from decimal import Decimal
from typing import Final
from uuid import UUID

import msgspec

from service.assessing.moment import Question
from service.assessing.shelves import EVERY, Shelf, Wanted, shelves, told, with_adrift
from service.domain.stock.changes import Change, order
from service.domain.stock.ledger import Account, Left, account
from service.domain.stock.lines import unit_of
from service.domain.stock.traces import SHELF
from service.domain.words import expiry_day

AT_ONCE: Final = 20
"""How many shelves are folded at a time, so that others have their turn."""


class Lot(msgspec.Struct, frozen=True):
    """So much of one lot and expiry; `last_day` is the last day of its shelf life, None where it has none."""

    lot: str | None
    expires: str | None
    last_day: date | None
    quantity: float


class Level(msgspec.Struct, frozen=True):
    """How much of an item there is at a site in one unit.

    `quantity` is what the lots add up to less `short`, never below nothing; `short` is by how much lines of it are
    below nothing. Lots are those of which there is something, the oldest expiry first. `counted_at` is the last count.
    """

    site: str
    item: str
    unit: str
    quantity: float
    lots: tuple[Lot, ...]
    short: float
    counted_at: datetime | None

    @property
    def shelf(self) -> Shelf:
        """Name the item at the site."""
        return Shelf(self.site, self.item)


class Use(msgspec.Struct, frozen=True):
    """What was fitted new on a local day at a site, and what was thrown away, in one unit."""

    site: str
    item: str
    unit: str
    day: date
    used: float
    discarded: float


async def levels(question: Question, wanted: Wanted) -> list[Level]:
    """Give the levels of all shelves wanted of which stock was told, by site, item and unit."""
    found: list[Level] = []
    after = ""
    while batch := await shelves(question, wanted, [SHELF], after, AT_ONCE):
        found += await levels_of(question, batch)
        after = batch[-1].key
    return found


async def levels_of(question: Question, batch: Collection[Shelf]) -> list[Level]:
    """Give the levels of some shelves; of one that nothing had been told of by then, none."""
    known = await accounts(question, batch)
    return [level for shelf in batch for level in _levels(shelf, known[shelf])]


async def accounts(question: Question, batch: Collection[Shelf]) -> dict[Shelf, Account]:
    """Fold some shelves."""
    return {shelf: account(changes) for shelf, changes in (await told(question, batch)).changes.items()}


async def uses(question: Question, wanted: Wanted, since: date) -> list[Use]:
    """Give what was used and thrown away from a day on, by site, item, unit and day; days without any are left out."""
    found: list[Use] = []
    every, after = await with_adrift(question, wanted, since), ""
    while batch := await shelves(question, every, EVERY, after, AT_ONCE):
        found += await uses_of(question, batch, since)
        after = batch[-1].key
    return found


async def uses_of(question: Question, batch: Collection[Shelf], since: date, until: date = date.max) -> list[Use]:
    """Give what was used of some shelves from a day to another, the last included."""
    known = await told(question, batch, since=since)
    days = {event: row.event.occurred_on for event, row in known.rows.items()}
    return [
        use
        for shelf in batch
        for use in _uses(question, shelf, known.changes[shelf], days)
        if since <= use.day <= until
    ]


def _levels(shelf: Shelf, known: Account) -> Iterable[Level]:
    units = {entry.unit: None for entry in known.entries}
    for unit in sorted(units):
        lines = [line for line in known.lines if line.unit == unit]
        there = [line for line in lines if line.quantity > 0]
        short = sum((-line.quantity for line in lines if line.quantity < 0), Decimal(0))
        counts = [entry.at for entry in known.entries if entry.what == "counted" and entry.unit == unit]
        yield Level(
            site=shelf.site,
            item=shelf.item,
            unit=unit,
            quantity=float(max(Decimal(0), sum((line.quantity for line in there), Decimal(0)) - short)),
            lots=tuple(_lot(line) for line in there),
            short=float(short),
            counted_at=counts[-1] if counts else None,
        )


def _lot(line: Left) -> Lot:
    last_day = None if line.expires is None else expiry_day(line.expires)
    return Lot(line.lot, line.expires, last_day, float(line.quantity))


def _uses(question: Question, shelf: Shelf, changes: Iterable[Change], days: Mapping[UUID, date | None]) -> list[Use]:
    units: dict[str, str] = {}
    used: dict[tuple[date, str], Decimal] = defaultdict(Decimal)
    thrown: dict[tuple[date, str], Decimal] = defaultdict(Decimal)
    for change in sorted(changes, key=order):
        sums = {"fitted": used, "discarded": thrown}.get(change.what)
        if sums is not None:
            day = days[change.event] or question.world.day(change.at, change.site)
            sums[day, units.setdefault(unit_of(change.unit), change.unit)] += change.quantity
    return [
        Use(*shelf, unit, day, float(used[day, unit]), float(thrown[day, unit]))
        for unit, day in sorted((unit, day) for day, unit in {*used, *thrown})
    ]
