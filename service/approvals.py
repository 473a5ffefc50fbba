"""Approvals: what is posted straight about orders is held against who may do so much, and where.

A manager's counts whatever it costs. Any other counts within the cap alone, up to what is proposed at that moment;
beyond that it is recorded all the same, with a conflict: an approval counts for nothing then, and an order stands in a
report. What is of another site is told no sender but as something that nobody knows.
"""

from collections.abc import Sequence
from datetime import datetime
from typing import TypeAlias

from service.assessing.moment import asked
from service.assessing.orders import orders
from service.assessing.reckoner import Reckoner, reckoner_of
from service.assessing.reorders import allowed
from service.domain.caller import Caller
from service.domain.conflict import APPROVAL_WITHOUT_AUTHORITY, ORDER_WITHOUT_APPROVAL, UNKNOWN_ORDER, UNKNOWN_PROPOSAL
from service.domain.kinds.order_cancelled import OrderCancelled
from service.domain.kinds.order_placed import OrderPlaced
from service.domain.kinds.reorder_approved import ReorderApproved
from service.domain.ordering.acts import moments_of
from service.domain.ordering.authority import APPROVING, beyond_cap, within_at
from service.domain.ordering.costs import standing, wanted
from service.domain.ordering.lines import summed
from service.domain.ordering.naming import Need
from service.domain.ordering.order import Order
from service.ledger import Ledger
from service.recording.incoming import Read

Act: TypeAlias = ReorderApproved | OrderPlaced | OrderCancelled
"""What is done about a proposal."""


async def compared(ledger: Ledger, caller: Caller, one: Read) -> Read:
    """Give a message with what contradicts it, if it approves or orders more than its sender may."""
    event = one.event
    if isinstance(event, OrderCancelled):
        async with asked(ledger, caller) as question:
            book = await orders(question, None)
            known = any(_is_reached(order, event, caller) for order in book.orders.get(event.order, ()))
            return one if known else one.contradicted(UNKNOWN_ORDER)
    if not isinstance(event, ReorderApproved | OrderPlaced):
        return one
    async with asked(ledger, caller) as question:
        reckoner = await reckoner_of(question, caller, event.proposal)
        need = reckoner.book.need(event.proposal)
        if need is None:
            return one.contradicted(UNKNOWN_PROPOSAL)
        if caller.role in APPROVING:
            return one
        received_at = one.incoming.sender.received_at
        moments = (moments_of(event, received_at, question.world)[1], received_at)
        if isinstance(event, ReorderApproved):
            fits = await _may_approve(reckoner, need, event, moments)
            return one if fits else one.contradicted(APPROVAL_WITHOUT_AUTHORITY)
        fits = await _may_order(reckoner, need, event, moments)
        return one if fits else one.contradicted(ORDER_WITHOUT_APPROVAL)


def _is_reached(order: Order, event: OrderCancelled, caller: Caller) -> bool:
    meant = event.proposal in {None, order.proposal}
    return meant and (order.site is None or caller.sites is None or order.site in caller.sites)


async def _may_approve(reckoner: Reckoner, need: Need, event: ReorderApproved, moments: Sequence[datetime]) -> bool:
    quantity, rulebook = event.quantity, reckoner.question.world.rulebook
    if quantity is None or not all(within_at(rulebook, need, quantity, at) for at in moments):
        return False
    return quantity <= await allowed(reckoner, need, reckoner.book.life(event.proposal))


async def _may_order(reckoner: Reckoner, need: Need, event: OrderPlaced, moments: Sequence[datetime]) -> bool:
    life, rulebook = reckoner.book.life(event.proposal), reckoner.question.world.rulebook
    before = standing(order for order in life.orders if order.order != event.order)
    if life.approval is not None and life.approval.exceeded(wanted(event.lines), before) is None:
        return True
    if not event.lines or any(beyond_cap(rulebook, need, event.lines, at) is not None for at in moments):
        return False
    return summed(line.quantity for line in event.lines) <= await allowed(reckoner, need, life, event.order)
