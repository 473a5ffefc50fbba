"""Reorders: the proposals of sites, as they are now: those to be acted on, and what became of the others.

They are worked out for each page and stored nowhere. A page ends when it is full, or when enough was worked out for it:
then it may hold few rows, and the next goes on. One without any goes on looking for longer, so that it is empty only
where there is little to be found at all. What one site can spare is promised once (`allotment.py`).
"""

from collections.abc import AsyncIterator
from datetime import timedelta
from typing import Final

import msgspec
from msgspec.structs import replace

from service.assessing.moment import Question, before
from service.assessing.orders import orders
from service.assessing.proposals import Told, acted_on, proposed
from service.assessing.reckoner import Reckoner
from service.assessing.shelves import EVERY, Shelf, Wanted, shelves, with_adrift
from service.assessing.supplies import WEEKS
from service.domain.errors import BadCursor, NotFound
from service.domain.ordering.book import Book
from service.domain.ordering.life import Life
from service.domain.ordering.lines import DIGITS
from service.domain.ordering.naming import Need, proposal_id
from service.domain.ordering.order import ENDED, State
from service.page import Page
from service.store.events_by_ids import events_by_ids

PROPOSAL: Final = "proposal"
ENOUGH: Final = 50
"""How many needs, and sites, are worked out for one page, those that may spare something included."""
MOST: Final = 4 * ENOUGH
"""How many while nothing was found: some seconds where no choice of a method is kept, else a fraction of one."""
BEYOND: Final = "~"
"""Stands behind every item of a site: no reference has it."""
LAST: Final = 2**31
"""Stands behind every need of a site and item."""
RESTED_ON: Final = ("transfers", "arithmetic", "forecast", "condition")
"""What is told of a proposal as it was when it was acted on."""
MOST_ITEMS: Final = 10_000
"""More items than a site has."""


class Sought(msgspec.Struct, frozen=True, kw_only=True):
    """Which proposals: of some sites (None: all), an item, a state; without a state those that have not ended."""

    sites: frozenset[str] | None = None
    item: str | None = None
    state: State | None = None

    def holds(self, state: State) -> bool:
        """Say whether proposals of a state are meant."""
        return state not in ENDED if self.state is None else state == self.state


async def page(question: Question, reckoner: Reckoner, sought: Sought, after: str | None, limit: int) -> Page:
    """List proposals by site, item and need. Raises BadCursor."""
    begin = _key(after)
    rows: list[tuple[Need, Told]] = []
    passed: Need | None = None
    async for passed, told in _steps(question, reckoner, sought, begin):
        if told is not None:
            rows.append((passed, told))
        if len(rows) > limit or (told is None and reckoner.done >= (ENOUGH if rows else MOST)):
            break
    else:
        passed = None
    if len(rows) > limit:
        passed = rows[limit - 1][0]
    items = [told for _, told in rows[:limit]]
    return Page(items=items, next=None if passed is None else " ".join(map(str, passed)), about=about(question))


def about(question: Question) -> dict[str, object]:
    """Say what the answer rests on."""
    return {"as_at": question.as_at, "judged_to": question.judged_to, "rules_to": question.rules_to}


async def one(reckoner: Reckoner, name: str) -> Told:
    """Give a proposal: one that was acted on, or the next of its site and item. Raises NotFound."""
    need = need_of(reckoner.book, name)
    shelf = Shelf(need.site, need.item)
    life = reckoner.book.life(name)
    if life.acted_on:
        known = acted_on(life, shelf, reckoner.item(need.item), reckoner.book.waiting)
        return known | await _rested_on(reckoner, life, shelf, str(known["because"]))
    told = await _open(reckoner, shelf, name)
    if told is None:
        raise NotFound(PROPOSAL)
    return told


async def _rested_on(reckoner: Reckoner, life: Life, shelf: Shelf, history: str) -> Told:
    """Give what a proposal rested on as it was approved, or ordered without: as it was known just before.

    Of an item that was not defined then there is nothing to tell.
    """
    question = reckoner.question
    deed = life.orders[0].placed if life.approval is None else life.approval.deed
    row = (await events_by_ids(question.conn, question.organisation, [deed.event]))[deed.event].recorded
    then = before(question, row)
    book = await orders(then, question.reach, (life.proposal,))
    told = await _open(Reckoner(then, book, question.reach), shelf, life.proposal)
    if told is None:
        return {}
    return {name: told[name] for name in RESTED_ON} | {"because": f"{told['because']} {history}"}


def need_of(book: Book, name: str) -> Need:
    """Give the need behind a proposal that was ever acted on, or is the next of those. Raises NotFound.

    An id that was told stays one: where what was done about the need before it is taken back, both are open, and what
    is done about either is on its way for the other.
    """
    need = book.need(name)
    if need is None:
        raise NotFound(PROPOSAL)
    return need


async def proposed_now(reckoner: Reckoner, need: Need) -> float:
    """Give how much is proposed to be bought now."""
    found = await reckoner.proposal(Shelf(need.site, need.item))
    return 0.0 if found is None else found.bought.quantity


async def allowed(reckoner: Reckoner, need: Need, life: Life, order: str | None = None) -> float:
    """Give up to how much a cap may approve: what is proposed now, beside what it or the order has on its way already.

    What is on its way is not proposed again; so nobody gets further by asking for one need after the other.
    """
    own = life.quantity or 0.0 if life.state == "approved" else 0.0
    told = [line for one in life.orders if one.order == order for line in one.outstanding]
    return round(await proposed_now(reckoner, need) + own + sum(line.outstanding for line in told), DIGITS)


async def _steps(
    question: Question, reckoner: Reckoner, sought: Sought, begin: Need | None
) -> AsyncIterator[tuple[Need, Told | None]]:
    """Give the proposals past a place in order, and after each site and item the place without any."""
    wanted = Wanted(sites=sought.sites, item=sought.item)
    if sought.holds("open"):
        wanted = await with_adrift(question, wanted, question.as_at.date() - timedelta(weeks=WEEKS))
    for site in sorted(question.sites if sought.sites is None else sought.sites):
        if begin is not None and (site, BEYOND) <= begin[:2]:
            continue
        chosen = await _of_site(question, reckoner, sought, replace(wanted, sites=frozenset({site})), site)
        left = [shelf for shelf in chosen if begin is None or shelf >= begin[:2]]
        for nth, shelf in enumerate(left):
            if sought.holds("open") and nth % ENOUGH == 0:
                await reckoner.look_up(left[nth : nth + ENOUGH])
            found = [row async for row in _of_shelf(reckoner, shelf, sought) if begin is None or row[0] > begin]
            for row in sorted(found, key=lambda row: row[0]):
                yield row
            yield Need(*shelf, LAST), None
        yield Need(site, BEYOND, LAST), None


async def _of_site(question: Question, reckoner: Reckoner, sought: Sought, wanted: Wanted, site: str) -> list[Shelf]:
    """Give the items of a site that there may be a proposal of, in order."""
    items = {need.item for need in reckoner.book.needs.values() if need.site == site}
    if sought.holds("open"):
        items |= {shelf.item for shelf in await shelves(question, wanted, EVERY, "", MOST_ITEMS)}
        items |= {expected.change.item for expected in await reckoner.expected(site)}
    return [Shelf(site, item) for item in sorted(items) if sought.item in {None, item}]


async def _of_shelf(reckoner: Reckoner, shelf: Shelf, sought: Sought) -> AsyncIterator[tuple[Need, Told]]:
    """Give the proposals of an item at a site that are sought."""
    item = reckoner.item(shelf.item)
    for life in reckoner.book.of_pair(shelf.site, shelf.item):
        if life.need is not None and sought.holds(life.state):
            yield life.need, acted_on(life, shelf, item, reckoner.book.waiting)
    if sought.holds("open") and reckoner.held(shelf) is None:
        need = reckoner.book.open_need(shelf.site, shelf.item)
        found = await reckoner.reckoned(shelf)
        if found is not None and found.reorder.wanted:
            told = await _open(reckoner, shelf, proposal_id(*need))
            if told is not None:
                yield need, told


async def _open(reckoner: Reckoner, shelf: Shelf, name: str) -> Told | None:
    item, found = reckoner.item(shelf.item), await reckoner.proposal(shelf)
    if item is None or found is None:
        return None
    return proposed(name, item, found, shelf, await reckoner.expected(shelf.site))


def _key(after: str | None) -> Need | None:
    """Read where a list goes on. Raises BadCursor."""
    if after is None:
        return None
    site, _, rest = after.partition(" ")
    item, _, n = rest.partition(" ")
    if not (n.isascii() and n.isdigit()):
        raise BadCursor
    return Need(site, item, int(n))
