"""The book of orders: every proposal that was acted on, every order, and what follows for the next.

Of several placements of one proposal under one number the last counts, as a correction; under two numbers it was
ordered twice, and both are on their way. What is approved and not yet ordered counts as on order: it was decided.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from datetime import datetime
from functools import cached_property
from uuid import UUID

from service.domain.kinds.order_placed import OrderPlaced
from service.domain.kinds.reorder_approved import ReorderApproved
from service.domain.kinds.stock_received import StockReceived
from service.domain.ordering.acts import Acts, Said, acts_of, deed_of
from service.domain.ordering.approval import Approval
from service.domain.ordering.authority import cost_of, goes_by_itself, may_approve, unit_at
from service.domain.ordering.costs import standing, wanted
from service.domain.ordering.leads import Lead, leads_of
from service.domain.ordering.life import Life
from service.domain.ordering.lines import is_for
from service.domain.ordering.naming import Need, needs_of, proposal_id
from service.domain.ordering.order import ENDED, Order
from service.domain.ordering.parts import Parts, standing_of
from service.domain.ordering.reach import within_reach
from service.domain.ordering.supply import outstanding, untold
from service.domain.ordering.units import Alien, aliens
from service.domain.ordering.waiting import Waiting
from service.domain.recorded import Recorded
from service.domain.stock.lines import is_alike
from service.domain.world import World


class Book:
    """What became of proposals and orders as of a moment; `needs` are those found behind their names.

    `reach` are the sites whose proposals whoever asks may name, None for all.
    """

    def __init__(
        self, acts: Acts, needs: Mapping[str, Need], world: World, as_at: datetime, reach: Collection[str] | None
    ) -> None:
        self.needs = needs
        self._acts = acts
        self._world = world
        self._as_at = as_at
        self._reach = reach

    def need(self, proposal: str) -> Need | None:
        """Give the need behind a name, as far as whoever asks may know of it."""
        need = self.needs.get(proposal)
        return need if need is None or self._reach is None or need.site in self._reach else None

    @cached_property
    def lives(self) -> dict[str, Life]:
        """Give the proposals that anything was said of, by their names."""
        names = sorted(self._acts.approvals.keys() | self._acts.placements.keys())
        orders = _by_proposal(self.orders)
        return {name: self._life(name, orders.get(name, ())) for name in names}

    @cached_property
    def orders(self) -> dict[str, tuple[Order, ...]]:
        """Give the orders by their numbers, each with its part for every proposal that it is for."""
        found: defaultdict[str, dict[str, list[Said[OrderPlaced]]]] = defaultdict(dict)
        for said in self._acts.placed:
            found[said.event.order].setdefault(said.event.proposal, []).append(said)
        parts = Parts(self._acts, self.needs, self._world, self._unit)
        return {number: parts.order(number, found[number]) for number in sorted(found)}

    @property
    def spent(self) -> frozenset[UUID]:
        """Name the events that were taken back, and what called off an order that was placed again."""
        told = {said.event.id for every in self._acts.cancellations.values() for said in every}
        standing = {order.cancelled.event for every in self.orders.values() for order in every if order.cancelled}
        return self._acts.voided | (told - standing)

    def life(self, proposal: str) -> Life:
        """Give what became of a proposal, of which nothing may have been said."""
        return self.lives.get(proposal) or Life(proposal=proposal, need=self.needs.get(proposal))

    def of_pair(self, site: str, item: str) -> list[Life]:
        """Give the proposals of a site and item that were acted on, oldest need first."""
        named = sorted((need.n, name) for name, need in self.needs.items() if need[:2] == (site, item))
        return [life for _, name in named if (life := self.lives.get(name)) is not None and life.acted_on]

    def open_need(self, site: str, item: str) -> Need:
        """Give the first need that nobody has acted on."""
        taken = {life.proposal for life in self.of_pair(site, item)}
        n = 0
        while proposal_id(site, item, n) in taken:
            n += 1
        return Need(site, item, n)

    @cached_property
    def outstanding(self) -> dict[tuple[str, str], float]:
        """Give what is on order and what is approved, by site and item."""
        return outstanding(self._going_on, self._over, self._approved)

    @cached_property
    def untold(self) -> frozenset[tuple[str, str]]:
        """Name the sites and items of which nobody said how much is on order: nothing more is proposed there."""
        return untold(self._going_on, self._approved)

    @cached_property
    def waiting(self) -> Waiting:
        """Give how long is waited for what is on its way."""
        return Waiting(self.leads, self._world, self._as_at)

    @cached_property
    def _going_on(self) -> list[Order]:
        """Give the orders that something may still come of."""
        return [order for told in self.orders.values() for order in told if self._goes_on(order)]

    @property
    def _over(self) -> list[Order]:
        """Give the orders that nothing is waited for of any more."""
        return [order for told in self.orders.values() for order in told if not self._goes_on(order)]

    def _goes_on(self, order: Order) -> bool:
        return order.state not in ENDED and not self.waiting.is_lost(order)

    @cached_property
    def _approved(self) -> list[Life]:
        """Give the proposals that are still to be ordered."""
        lives = (life for life in self.lives.values() if life.state == "approved")
        return [life for life in lives if self.waiting.stale_at(life) is None]

    def _unit(self, item: str) -> str | None:
        defined = self._world.rulebook.item(item, self._as_at)
        return None if defined is None else defined.unit

    @property
    def aliens(self) -> list[Alien]:
        """Give what is said of orders in another unit than the item's."""
        orders = [order for told in self.orders.values() for order in told]
        receipts = [said for told in self._acts.receipts.values() for said in told]
        return list(aliens(orders, receipts, self._unit))

    @property
    def unknown(self) -> list[Said[OrderPlaced]]:
        """Give the placements for proposals that nobody knows, or that their key does not reach."""
        return [*(said for said in self._acts.placed if said.event.proposal not in self.needs), *self._acts.beyond]

    @cached_property
    def leads(self) -> list[Lead]:
        """Give how long each order took for an item that has ended: the mean day of its receipts, by their quantities.

        An order that goes on is left out, since what is late would be missing from it.
        """
        return [lead for orders in self.orders.values() for order in orders for lead in leads_of(order)]

    @property
    def strays(self) -> list[Said[StockReceived]]:
        """Give the receipts that name an order which nobody placed for their site, nor one of whose lines they name."""
        return [
            said
            for number in sorted(self._acts.receipts)
            for said in self._acts.receipts[number]
            if not any(is_for(line, said.event) for order in self.orders.get(number, ()) for line in order.lines)
        ]

    @property
    def unapproved(self) -> list[Order]:
        """Give the orders that go beyond what was approved, and beyond what needs no approval, as they were last told.

        Of several for one proposal what is approved is used up by the first; what was called off uses what came of it.
        One that was called off with nothing received is none of them.
        """
        told = [(life, nth, order) for life in self.lives.values() for nth, order in enumerate(life.orders)]
        return [
            order
            for life, nth, order in told
            if order.state != "cancelled" and not self._is_approved(life, self._last_said(order), life.orders[:nth])
        ]

    def _last_said(self, order: Order) -> Said[OrderPlaced]:
        told = self._acts.placements[order.proposal]
        return next(said for said in reversed(told) if said.event.order == order.order)

    def _is_approved(self, life: Life, said: Said[OrderPlaced], before: Sequence[Order]) -> bool:
        goods, approval = wanted(said.event.lines), life.approval
        if approval is not None and approval.exceeded(goods, standing(before)) is None:
            return True
        return goes_by_itself(said, self.needs.get(said.event.proposal), self._world)

    def _life(self, name: str, orders: Sequence[Order]) -> Life:
        need = self.needs.get(name)
        told = self._acts.approvals.get(name, [])
        standing = standing_of(self._acts, name, need, self._world)
        return Life(
            proposal=name,
            need=need,
            approval=self._approval(standing[-1], need) if standing else None,
            idle=tuple(deed_of(said) for said in told if said not in standing),
            orders=tuple(orders),
        )

    def _approval(self, said: Said[ReorderApproved], need: Need | None) -> Approval:
        site = said.event.site if need is None else need.site
        within = said.event.within_cap or not may_approve(self._world.key(said.row.key), site)
        price = None if need is None else cost_of(self._world.rulebook, need.item, 1.0, said.at)
        item = None if need is None else need.item
        unit = None if need is None else unit_at(self._world.rulebook, need.item, said.at)
        on = said.event.occurred_on or self._world.day(said.at, site or "")
        alien = item is not None and not is_alike(unit, self._unit(item))
        return Approval(deed_of(said), on, said.event.quantity, within, price, site, item, unit, alien)


def book_of(
    rows: Iterable[Recorded],
    taken_back: Collection[UUID],
    world: World,
    as_at: datetime,
    pairs: Iterable[tuple[str, str]],
    wanted: Iterable[str] = (),
    reach: Collection[str] | None = None,
) -> Book:
    """Fold the events about orders; `pairs` are the sites and items that proposals may be of.

    The needs of `wanted` proposals are found, too, where they are the next of their pair.
    """
    acts = acts_of(rows, taken_back, world, as_at)
    needs = needs_of(pairs, acts.named, frozenset(wanted))
    return Book(within_reach(acts, needs, world), needs, world, as_at, reach)


def _by_proposal(orders: Mapping[str, Sequence[Order]]) -> dict[str, list[Order]]:
    found: defaultdict[str, list[Order]] = defaultdict(list)
    for told in orders.values():
        for order in told:
            found[order.proposal].append(order)
    return {name: sorted(told, key=lambda order: (order.placed.at, order.order)) for name, told in found.items()}
