"""Approvals: what is posted straight as an approval is held against who may give it, before it is recorded.

A manager's is not looked at. Any other counts within the cap alone; beyond that it is recorded all the same, with a
conflict, and counts for nothing.
"""

from typing import Final

from service.assessing.moment import asked
from service.assessing.orders import orders
from service.domain.caller import Caller
from service.domain.conflict import Conflict
from service.domain.facts import instant
from service.domain.kinds.reorder_approved import ReorderApproved
from service.domain.ordering.authority import APPROVING, within_at
from service.ledger import Ledger
from service.recording.incoming import Read

WITHOUT_AUTHORITY: Final = Conflict("approval-without-authority")


async def compared(ledger: Ledger, caller: Caller, one: Read) -> Read:
    """Give a message with what contradicts it, if it is an approval of somebody who may not give it."""
    event = one.event
    if not isinstance(event, ReorderApproved) or caller.role in APPROVING:
        return one
    async with asked(ledger, caller) as question:
        book = await orders(question, caller.sites, (event.proposal,))
        need, quantity, rulebook = book.needs.get(event.proposal), event.quantity, question.world.rulebook
        moments = (instant(event, None, question.world), one.incoming.sender.received_at)
        counts = False
        if need is not None and quantity is not None:
            counts = all(within_at(rulebook, need, quantity, at) for at in moments)
    return one if counts else one.contradicted(WITHOUT_AUTHORITY)
