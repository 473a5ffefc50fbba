"""Orders: approve what is proposed, say that it was ordered, call it off; once each, however often it is asked for.

Load, decide, append: what became of the proposal is found in one snapshot; what is done about it is recorded by the
ordinary way. The name of each event follows from the proposal and what is done, so that of two at once one is recorded:
the other is its repeat, or is told what was done. What was posted as an event counts like what was done here.
"""

from collections.abc import Awaitable, Callable, Sequence
from datetime import datetime
from typing import Any, Final, NamedTuple

from msgspec.structs import replace

from service.assessing import reorders
from service.assessing.moment import Question, asked
from service.assessing.proposals import Told
from service.assessing.reckoner import Reckoner, reckoner_of
from service.domain.caller import Caller
from service.domain.codec import decode, encode
from service.domain.errors import ApprovalNeeded, ContentClash, Malformed, NotFound
from service.domain.event import Event
from service.domain.kinds.item_defined import ItemDefined
from service.domain.kinds.order_cancelled import OrderCancelled
from service.domain.kinds.order_placed import OrderLine, OrderPlaced
from service.domain.kinds.reorder_approved import ReorderApproved
from service.domain.money import spelled
from service.domain.ordering.asked import TOO_MANY, Approving, Cancelling, Placing, demand_of
from service.domain.ordering.authority import APPROVING, beyond_cap
from service.domain.ordering.costs import wanted
from service.domain.ordering.doing import to_approve, to_cancel, to_place
from service.domain.ordering.life import Life
from service.domain.ordering.lines import ONLY_LINE, summed
from service.domain.ordering.naming import Act, Need, act_id
from service.domain.ordering.order import Deed
from service.domain.words import MOST_QUANTITY
from service.ledger import Ledger
from service.recording.in_turn import record_all
from service.recording.incoming import Incoming, Read, Receipt, Sender
from service.store.events_by_ids import events_by_ids

TRIES: Final = 3
"""How often what others did meanwhile is looked at; their deed is on record then, so that twice is enough."""


class Done(NamedTuple):
    """The receipts of what was recorded, what was asked for last, and the proposal as it is now."""

    receipts: Sequence[Receipt]
    proposal: Told


class Desk(NamedTuple):
    """A proposal on the table: the question that it was found in, how to reckon, and what became of it."""

    question: Question
    reckoner: Reckoner
    need: Need
    life: Life
    item: ItemDefined

    def said(self, act: Act, order: str = "") -> dict[str, Any]:
        """Give what every event about it says beside who and what."""
        question, proposal = self.question, self.life.proposal
        name = act_id(question.organisation, proposal, act, self.reckoner.book.spent, order)
        return {"id": name, "occurred_at": question.position.now, "site": self.need.site, "proposal": proposal}

    async def proposed(self) -> float:
        """Give how much is proposed to be bought now."""
        return await reorders.proposed_now(self.reckoner, self.need)


async def approve(ledger: Ledger, caller: Caller, proposal: str, said: Approving) -> Done:
    """Approve a proposal. Raises NotFound, ProposalState, and Malformed where nothing is proposed and no quantity said.

    Raises Unavailable as `record` does; all of it may be asked for again.
    """

    async def events(desk: Desk) -> Deed | list[Event]:
        known = to_approve(desk.life, said.quantity)
        if known is not None:
            return known
        quantity = await _approved(desk) if said.quantity is None else said.quantity
        if not quantity:
            raise Malformed("/quantity", "A quantity of 0 approves nothing: say how much is approved.")
        return [ReorderApproved(**desk.said("reorder-approved"), by=said.by, quantity=quantity)]

    return await _done(ledger, caller, proposal, events)


async def place(ledger: Ledger, caller: Caller, proposal: str, said: Placing) -> Done:
    """Say that a proposal was ordered; what needs no manager is approved by it, in an event of its own before it.

    Raises NotFound, ProposalState, ApprovalNeeded, Malformed for lines of anything else, and Unavailable.
    """

    async def events(desk: Desk) -> Deed | list[Event]:
        placed = OrderPlaced(
            **desk.said("order-placed"),
            by=said.by,
            order=said.order,
            lines=said.lines,
            supplier=said.supplier,
            expected_on=said.expected_on,
        )
        known = to_place(desk.life, placed)
        if known is not None:
            return known
        lines = said.lines or await _only_line(desk)
        demand_of(desk.item, lines)
        approval = await _approval(desk, caller, lines, said.by)
        return [*approval, replace(placed, lines=lines)]

    return await _done(ledger, caller, proposal, events)


async def cancel(ledger: Ledger, caller: Caller, proposal: str, said: Cancelling) -> Done:
    """Call off a proposal's order. Raises NotFound, ProposalState and Unavailable."""

    async def events(desk: Desk) -> Deed | list[Event]:
        order = to_cancel(desk.life, said.order)
        if order.cancelled is not None:
            return order.cancelled
        named = desk.said("order-cancelled", order.order)
        return [OrderCancelled(**named, by=said.by, reason=said.reason, order=order.order)]

    return await _done(ledger, caller, proposal, events)


async def _done(
    ledger: Ledger, caller: Caller, proposal: str, events: Callable[[Desk], Awaitable[Deed | list[Event]]]
) -> Done:
    """Do what is to be done, look again where somebody else was faster, and tell the proposal as it is then.

    Of an order that was recorded while its approval was another's, it is told that it was recorded.
    """
    receipts: list[Receipt] = []
    for _ in range(TRIES):
        async with asked(ledger, caller) as question:
            desk = await _desk(question, caller, proposal)
            found = await events(desk)
            if isinstance(found, Deed):
                told = await reorders.one(desk.reckoner, proposal)
                ours = next((one for one in receipts if one.id == found.event and one.problem is None), None)
                return Done([ours or await _repeated(question, found)], told)
            now = question.position.now
        receipts = await record_all(ledger, caller.organisation, _reads(found, caller, now))
        if all(receipt.problem is None or receipt.problem.code != ContentClash.code for receipt in receipts):
            break
    async with asked(ledger, caller) as question:
        return Done(receipts, await reorders.one(await reckoner_of(question, caller, proposal), proposal))


async def _desk(question: Question, caller: Caller, proposal: str) -> Desk:
    reckoner = await reckoner_of(question, caller, proposal)
    need = reorders.need_of(reckoner.book, proposal)
    item = reckoner.item(need.item)
    if item is None:
        raise NotFound(reorders.PROPOSAL)
    return Desk(question, reckoner, need, reckoner.book.life(proposal), item)


async def _approved(desk: Desk) -> float:
    """Give how much is approved by who says no quantity: what is proposed. Raises Malformed where that cannot be."""
    quantity = await desk.proposed()
    if not quantity:
        raise Malformed("/quantity", "Nothing is proposed to be bought now: say how much is approved.")
    if quantity > MOST_QUANTITY:
        told = f"{spelled(quantity)} are proposed, and at most {MOST_QUANTITY} are approved at a time: say how much."
        raise Malformed("/quantity", told)
    return quantity


async def _only_line(desk: Desk) -> tuple[OrderLine, ...]:
    """Give the line of an order that says none: as much as was approved, in the unit of then, else as is proposed."""
    approval = desk.life.approval
    quantity = None if approval is None else approval.quantity
    unit = desk.item.unit if approval is None or approval.unit is None else approval.unit
    if quantity is None:
        quantity = await desk.proposed()
    if quantity > MOST_QUANTITY:
        raise Malformed("/lines", f"{spelled(quantity)} are proposed: {TOO_MANY}")
    return (OrderLine(line=ONLY_LINE, item=desk.item.item, quantity=quantity, unit=unit),)


async def _approval(desk: Desk, caller: Caller, lines: Sequence[OrderLine], by: str) -> list[Event]:
    """Give the approval that an order brings with it, none where it was approved before. Raises ApprovalNeeded.

    A manager's or an administrator's order is their approval. Any other is approved within the cap, up to what is
    proposed: else each order would open a further need of nothing. What was approved is so for its money, too.
    """
    approval, managed = desk.life.approval, caller.role in APPROVING
    beyond = None if approval is None else approval.exceeded(wanted(lines))
    if not managed and (approval is None or beyond is not None):
        why = await _beyond_cap(desk, lines)
        if why is not None:
            known = None if approval is None else approval.deed.event
            raise ApprovalNeeded(desk.life.proposal, why if beyond is None else f"{beyond}, and {why}", known)
    if approval is not None:
        return []
    quantity = summed(line.quantity for line in lines)
    named = desk.said("reorder-approved")
    return [ReorderApproved(**named, by=by, quantity=quantity, within_cap=not managed)]


async def _beyond_cap(desk: Desk, lines: Sequence[OrderLine]) -> str | None:
    """Say why the cap does not approve an order; None where it does."""
    why = beyond_cap(desk.question.world.rulebook, desk.need, lines, desk.question.position.now)
    if why is not None:
        return why
    most = await reorders.allowed(desk.reckoner, desk.need, desk.life)
    quantity = summed(line.quantity for line in lines)
    if quantity <= most:
        return None
    return (
        f"{spelled(quantity)} are more than the {spelled(most)} that are proposed"
        if most
        else "nothing is proposed to be bought now"
    )


async def _repeated(question: Question, deed: Deed) -> Receipt:
    """Tell again of what was recorded before."""
    stored = (await events_by_ids(question.conn, question.organisation, [deed.event]))[deed.event]
    recorded_at = stored.recorded.recorded_at
    return Receipt(id=deed.event, status=200, outcome="repeated", seq=deed.seq, recorded_at=recorded_at)


def _reads(events: Sequence[Event], caller: Caller, at: datetime) -> list[Read]:
    """Give events as messages of the caller. Raises Malformed for what the log could not be read with."""
    sender = Sender(key=caller.key, role=caller.role, sites=caller.sites, received_at=at, sent_at=None)
    raws = [encode(event) for event in events]
    return [Read(incoming=Incoming(raw=raw, sender=sender, ordered=True), event=decode(raw)) for raw in raws]
