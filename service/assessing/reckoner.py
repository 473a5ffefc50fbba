"""The reckoner: works out what sites need, each item of a site once for a question, and counts how often it did.

To choose how to forecast takes some hundredths of a second, so that a page ends when enough was worked out.
"""

import asyncio
from collections.abc import Collection
from typing import Final, Literal, NamedTuple

from service.assessing.allotment import Allotment, neighbours
from service.assessing.chosen import chosen
from service.assessing.condition import condition
from service.assessing.lateness import Late, late_at
from service.assessing.moment import Question
from service.assessing.orders import orders
from service.assessing.shelves import Shelf
from service.assessing.supplies import InUnit, Supply, supplies
from service.domain.caller import Caller
from service.domain.demand.changes import Change
from service.domain.demand.fitted import Expected
from service.domain.demand.quantity import Limit, Ordered
from service.domain.demand.reorder import Stock
from service.domain.kinds.item_defined import ItemDefined
from service.domain.ordering.book import Book
from service.domain.ordering.reckoning import Reckoned, Situation, reckon
from service.domain.ordering.transfers import Surplus, Transfer, surplus

MOST_GIVERS: Final = 5
"""How many sites are looked at that may spare something: those that have most of it."""


Held = Literal["closed", "untold"]
"""Why nothing is proposed whatever is needed: the site is closed, or nobody said how much is on its way there."""


class Proposal(NamedTuple):
    """What is proposed: what it follows from, what comes from other sites, and what holds all of it up.

    `late` is how much of what is on its way is overdue, `others` what is there in other units than the item's.
    """

    reckoned: Reckoned
    transfers: tuple[Transfer, ...]
    held: Held | None = None
    late: Late | None = None
    others: tuple[InUnit, ...] = ()

    @property
    def bought(self) -> Ordered:
        """Give what is to be bought."""
        wanted = self.reckoned.reorder.wanted
        return self.reckoned.bought(self.moved) if self.held is None else Ordered(wanted, 0.0, 0.0)

    @property
    def limits(self) -> tuple[Limit | Held, ...]:
        """Name what made that another number than was wanted."""
        return self.bought.limits if self.held is None else (self.held,)

    @property
    def moved(self) -> float:
        """Give how much comes from other sites."""
        return sum((one.quantity for one in self.transfers), 0.0)


class Reckoner:
    """Works out needs from a question and its book of orders, at sites that the key reaches (None: all).

    `done` counts the needs that were worked out, and the sites of which what is fitted was looked through.
    """

    def __init__(self, question: Question, book: Book, reach: frozenset[str] | None) -> None:
        self.question = question
        self.book = book
        self.done = 0
        self._reach = reach
        self._supplies: dict[Shelf, Supply] = {}
        self._expected: dict[str, list[Expected]] = {}
        self._reckoned: dict[Shelf, Reckoned] = {}
        self._allotments: dict[tuple[str, str], Allotment] = {}

    def item(self, ref: str) -> ItemDefined | None:
        """Give an item as it is defined now."""
        return self.question.world.rulebook.item(ref, self.question.as_at)

    def is_closed(self, site: str) -> bool:
        """Say whether a site is closed by now, so that it needs nothing."""
        found = self.question.world.rulebook.site(site, self.question.as_at)
        today = self.question.world.day(self.question.as_at, site)
        return found is not None and found.closed_on is not None and found.closed_on < today

    async def expected(self, site: str) -> list[Expected]:
        """Give the changes that are expected at a site."""
        if site not in self._expected:
            self._expected[site] = await condition(self.question, site)
            self.done += 1
        return self._expected[site]

    async def look_up(self, wanted: Collection[Shelf]) -> None:
        """Read the supplies of shelves at once; of an item that is not defined there are none."""
        items = {shelf: self.item(shelf.item) for shelf in wanted if shelf not in self._supplies}
        units = {item.item: item.unit for item in items.values() if item is not None}
        missing = [shelf for shelf, item in items.items() if item is not None]
        if missing:
            self._supplies |= await supplies(self.question, missing, units, self.book.orders)

    async def reckoned(self, shelf: Shelf) -> Reckoned | None:
        """Work out what an item at a site comes to; None for one that is not defined."""
        item = self.item(shelf.item)
        if item is None:
            return None
        if shelf not in self._reckoned:
            await self.look_up([shelf])
            changes = tuple(one.change for one in await self.expected(shelf.site) if one.change.item == shelf.item)
            self._reckoned[shelf] = await asyncio.to_thread(reckon, self._situation(shelf, item, changes), chosen)
            self.done += 1
        return self._reckoned[shelf]

    def _situation(self, shelf: Shelf, item: ItemDefined, changes: tuple[Change, ...]) -> Situation:
        question, supply = self.question, self._supplies[shelf]
        values = question.world.rulebook.policy("service-level", question.as_at, shelf.site).values
        leads = [lead for lead in self.book.leads if lead.item == shelf.item]
        on_order = self.book.outstanding.get((shelf.site, shelf.item), 0.0) + supply.arriving
        return Situation(
            today=question.world.day(question.as_at, shelf.site),
            item=item,
            level=values["level"],
            stock=Stock(supply.lots, on_order, supply.short, supply.recalled),
            unforeseen=supply.unforeseen,
            foretold=supply.foretold,
            changes=changes,
            leads=tuple(lead.days for lead in leads if lead.site == shelf.site),
            leads_elsewhere=tuple(lead.days for lead in leads if lead.site != shelf.site),
        )

    async def proposal(self, shelf: Shelf) -> Proposal | None:
        """Work out what is proposed; None for an item that is not defined."""
        found = await self.reckoned(shelf)
        if found is None:
            return None
        held, others = self.held(shelf), self._supplies[shelf].others
        moved = await self.transfers(shelf) if found.reorder.wanted and held is None else ()
        return Proposal(found, moved, held, late_at(self.book, shelf), others)

    async def transfers(self, shelf: Shelf) -> tuple[Transfer, ...]:
        """Give what other sites can spare of what is wanted at one, and have not promised to those before it."""
        there = neighbours(
            shelf.site, self.question.sites if self._reach is None else self.question.sites & self._reach
        )
        if not there:
            return ()
        key = there[0], shelf.item
        if key not in self._allotments:
            self._allotments[key] = Allotment(await self._offered(shelf.item, there), there)
        allotment = self._allotments[key]
        while (site := allotment.turn(shelf.site)) is not None:
            there_too = Shelf(site, shelf.item)
            allotment.promise(await self.reckoned(there_too) if self.held(there_too) is None else None)
        return allotment.promised(shelf.site)

    def held(self, shelf: Shelf) -> Held | None:
        """Say why nothing may be proposed; None where it may."""
        if self.is_closed(shelf.site):
            return "closed"
        return "untold" if (shelf.site, shelf.item) in self.book.untold else None

    async def _offered(self, item: str, sites: Collection[str]) -> list[Surplus]:
        """Give what those can spare that have most."""
        await self.look_up([Shelf(site, item) for site in sites])
        there = [(self._in_stock(shelf), site) for site in sites if (shelf := Shelf(site, item)) in self._supplies]
        givers = sorted((one for one in there if one[0] > 0), key=lambda one: (-one[0], one[1]))[:MOST_GIVERS]
        offered = [await self._spare(Shelf(site, item)) for _, site in givers]
        return [one for one in offered if one is not None]

    def _in_stock(self, shelf: Shelf) -> float:
        return sum(lot.quantity for lot in self._supplies[shelf].lots)

    async def _spare(self, shelf: Shelf) -> Surplus | None:
        """Give what a site can spare; one that is closed needs nothing any more."""
        found = await self.reckoned(shelf)
        if found is None:
            return None
        stock, level, position = found.situation.stock, found.reorder.order_up_to, found.reorder.position
        if self.is_closed(shelf.site):
            level, position = 0, found.reorder.in_stock
        return surplus(shelf.site, stock.lots, stock.owed, position, level, found.situation.today)


async def reckoner_of(question: Question, caller: Caller, proposal: str | None = None) -> Reckoner:
    """Fold the orders at the sites of a key, and give what reckons by them; a proposal may be looked for."""
    book = await orders(question, caller.sites, () if proposal is None else (proposal,))
    return Reckoner(question, book, caller.sites)
