"""The book of orders: every proposal that was acted on, every order, and what follows for the next.

Of several placements of one proposal under one number the last counts, as a correction; under two numbers it was
ordered twice, and both are on their way. What is approved and not yet ordered counts as on order: it was decided.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from datetime import date, datetime
from functools import cached_property
from typing import NamedTuple
from uuid import UUID

from service.domain.kinds.order_placed import OrderPlaced
from service.domain.kinds.reorder_approved import ReorderApproved
from service.domain.kinds.stock_received import StockReceived
from service.domain.ordering.acts import Acts, Said, acts_of, deed_of
from service.domain.ordering.approval import Approval
from service.domain.ordering.authority import cost_of, counts, goes_by_itself, may_approve
from service.domain.ordering.life import Life
from service.domain.ordering.lines import DIGITS, Line, delivered
from service.domain.ordering.naming import Need, needs_of, proposal_id
from service.domain.ordering.order import Arrival, Deed, Order
from service.domain.recorded import Recorded
from service.domain.world import World


class Lead(NamedTuple):
    """How many days an order took, of an item from a supplier to a site."""

    item: str
    supplier: str | None
    site: str
    days: float


class Book:
    """What became of proposals and orders as of a moment; `needs` are those found behind their names."""

    def __init__(self, acts: Acts, needs: Mapping[str, Need], world: World) -> None:
        self.needs = needs
        self._acts = acts
        self._world = world

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
        return {number: self._order(number, found[number]) for number in sorted(found)}

    @property
    def voided(self) -> frozenset[UUID]:
        """Name the events that were taken back."""
        return self._acts.voided

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
        found: defaultdict[tuple[str, str], float] = defaultdict(float)
        for orders in self.orders.values():
            for line in (line for order in orders for line in order.outstanding):
                if line.site is not None:
                    found[line.site, line.item] += line.outstanding
        for life in self.lives.values():
            if life.state == "approved" and life.need is not None:
                found[life.need[:2]] += life.quantity or 0.0
        return {pair: round(quantity, DIGITS) for pair, quantity in found.items()}

    @cached_property
    def untold(self) -> frozenset[tuple[str, str]]:
        """Name the sites and items of which nobody said how much is on order: nothing more is proposed there."""
        lives = (life for life in self.lives.values() if life.state in {"approved", "placed"} and life.quantity is None)
        return frozenset(life.need[:2] for life in lives if life.need is not None)

    @cached_property
    def leads(self) -> list[Lead]:
        """Give how long each order took for an item that has ended: the mean day of its receipts, by their quantities.

        An order that goes on is left out, since what is late would be missing from it.
        """
        return [lead for orders in self.orders.values() for order in orders for lead in _leads(order)]

    @property
    def strays(self) -> list[Said[StockReceived]]:
        """Give the receipts that name an order which nobody placed."""
        return [
            said
            for number in sorted(self._acts.receipts.keys() - self.orders.keys())
            for said in self._acts.receipts[number]
        ]

    @property
    def unapproved(self) -> list[Order]:
        """Give the orders that go beyond what was approved, and beyond what needs no approval, as they were last told.

        One that was called off with nothing received is none of them.
        """
        told = [(order, self._last_said(order)) for life in self.lives.values() for order in life.orders]
        return [order for order, said in told if order.state != "cancelled" and not self._is_approved(said)]

    def _last_said(self, order: Order) -> Said[OrderPlaced]:
        told = self._acts.placements[order.proposal]
        return next(said for said in reversed(told) if said.event.order == order.order)

    def _is_approved(self, said: Said[OrderPlaced]) -> bool:
        approval = self.lives[said.event.proposal].approval
        if approval is not None and approval.exceeded(said.event.lines) is None:
            return True
        return goes_by_itself(said, self.needs.get(said.event.proposal), self._world)

    def _life(self, name: str, orders: Sequence[Order]) -> Life:
        need = self.needs.get(name)
        told, standing = self._acts.approvals.get(name, []), self._standing(name)
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
        return Approval(deed_of(said), said.event.quantity, within, price)

    def _order(self, number: str, placements: Mapping[str, Sequence[Said[OrderPlaced]]]) -> tuple[Order, ...]:
        receipts = self._acts.receipts.get(number, [])
        begun = [self._begun(placements[proposal]) for proposal in sorted(placements)]
        lines = iter(delivered([line for order in begun for line in order.lines], (said.event for said in receipts)))
        return tuple(
            Order(
                order=number,
                proposal=order.proposal,
                site=order.site,
                supplier=order.supplier,
                expected_on=order.expected_on,
                placed=order.placed,
                placed_on=order.placed_on,
                lines=tuple(next(lines) for _ in order.lines),
                arrivals=tuple(self._arrival(said) for said in receipts),
                cancelled=self._cancelled(number, order.proposal),
            )
            for order in begun
        )

    def _cancelled(self, number: str, proposal: str) -> Deed | None:
        """Give what first called off an order, or a proposal's part of it."""
        told = self._acts.cancellations.get(number, [])
        return next((deed_of(said) for said in told if said.event.proposal in {None, proposal}), None)

    def _begun(self, told: Sequence[Said[OrderPlaced]]) -> Order:
        """Give a proposal's part of an order before anything of it has come: placed first, as last said."""
        first, said = told[0], told[-1].event
        need = self.needs.get(said.proposal)
        site = said.site if need is None else need.site
        return Order(
            order=said.order,
            proposal=said.proposal,
            site=site,
            supplier=said.supplier,
            expected_on=said.expected_on,
            placed=deed_of(first),
            placed_on=self._day(first, site),
            lines=tuple(self._lines(said, site)),
        )

    def _lines(self, said: OrderPlaced, site: str | None) -> list[Line]:
        """Give the lines of an order; one without any is for its proposal's item, as much as was approved."""
        if said.lines:
            return [
                Line(
                    line=one.line,
                    site=site,
                    item=one.item,
                    unit=one.unit,
                    ordered=one.quantity,
                    price=None if one.price is None else str(one.price),
                    currency=one.currency,
                )
                for one in said.lines
            ]
        need = self.needs.get(said.proposal)
        if need is None:
            return []
        approved = self._standing(said.proposal)
        ordered = approved[-1].event.quantity if approved else None
        return [Line(line=None, site=site, item=need.item, unit=None, ordered=ordered)]

    def _standing(self, proposal: str) -> list[Said[ReorderApproved]]:
        """Give the approvals of a proposal that count."""
        need = self.needs.get(proposal)
        return [said for said in self._acts.approvals.get(proposal, ()) if counts(said, need, self._world)]

    def _arrival(self, said: Said[StockReceived]) -> Arrival:
        event = said.event
        on = self._day(said, event.site)
        return Arrival(event.site, event.item, event.quantity, event.unit, on, event.id, said.row.seq)

    def _day(self, said: Said[OrderPlaced] | Said[StockReceived], site: str | None) -> date:
        return said.event.occurred_on or self._world.day(said.at, site or "")


def book_of(
    rows: Iterable[Recorded],
    taken_back: Collection[UUID],
    world: World,
    as_at: datetime,
    pairs: Iterable[tuple[str, str]],
    wanted: Iterable[str] = (),
) -> Book:
    """Fold the events about orders; `pairs` are the sites and items that proposals may be of.

    The needs of `wanted` proposals are found, too, where they are the next of their pair.
    """
    acts = acts_of(rows, taken_back, world, as_at)
    return Book(acts, needs_of(pairs, acts.named, frozenset(wanted)), world)


def _by_proposal(orders: Mapping[str, Sequence[Order]]) -> dict[str, list[Order]]:
    found: defaultdict[str, list[Order]] = defaultdict(list)
    for told in orders.values():
        for order in told:
            found[order.proposal].append(order)
    return {name: sorted(told, key=lambda order: (order.placed.at, order.order)) for name, told in found.items()}


def _leads(order: Order) -> Iterable[Lead]:
    """Give how long an order took, for each item of which it waits for no more."""
    waiting = {line.item for line in order.outstanding}
    for item in sorted({line.item for line in order.lines} - waiting):
        came = [(one.on, one.quantity, one.site) for one in order.arrivals if one.item == item and one.quantity > 0]
        mine = [one for one in came if one[2] == order.site] or came
        if mine and min(on for on, _, _ in mine) >= order.placed_on:
            whole = sum(quantity for _, quantity, _ in mine)
            days = sum((on - order.placed_on).days * quantity for on, quantity, _ in mine) / whole
            yield Lead(item, order.supplier, order.site or mine[0][2], days)
