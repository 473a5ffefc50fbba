"""Reorders: what sites need, and what became of what they needed, now or at another moment; as documents, too."""

from datetime import datetime

from service.assessing import papers
from service.assessing.moment import asked
from service.assessing.places import Places, sites_of
from service.assessing.proposals import Told
from service.assessing.reckoner import reckoner_of
from service.assessing.reorders import Sought, one, page
from service.domain.caller import Caller
from service.domain.ordering.order import State
from service.ledger import Ledger
from service.outbound.ubl.documents import Order, ReceiptAdvice
from service.page import Page


async def listed(
    ledger: Ledger,
    caller: Caller,
    *,
    site: str | None,
    item: str | None,
    state: State | None,
    after: str | None,
    limit: int,
) -> Page:
    """List the proposals of a site, or of all that the key reads. Raises NotFound and BadCursor."""
    async with asked(ledger, caller) as question:
        sites = sites_of(question, caller, Places(site=site))
        reckoner = await reckoner_of(question, caller)
        return await page(question, reckoner, Sought(sites=sites, item=item, state=state), after, limit)


async def read(
    ledger: Ledger, caller: Caller, proposal: str, *, as_at: datetime | None = None, known_at: datetime | None = None
) -> Told:
    """Give one proposal. Raises NotFound, NotYetKnown and BadParameter, as all that follow."""
    async with asked(ledger, caller, as_at, known_at) as question:
        return {**question.about(), **await one(await reckoner_of(question, caller, proposal), proposal)}


async def ordered(
    ledger: Ledger, caller: Caller, proposal: str, *, as_at: datetime | None = None, known_at: datetime | None = None
) -> Order:
    """Give the order of a proposal as a document. Raises ProposalState and CannotBeWritten, too."""
    async with asked(ledger, caller, as_at, known_at) as question:
        return papers.order(await reckoner_of(question, caller, proposal), proposal)


async def received(
    ledger: Ledger, caller: Caller, proposal: str, *, as_at: datetime | None = None, known_at: datetime | None = None
) -> ReceiptAdvice:
    """Give what came of a proposal's order as a document. Raises ProposalState and CannotBeWritten, too."""
    async with asked(ledger, caller, as_at, known_at) as question:
        return await papers.receipt(await reckoner_of(question, caller, proposal), proposal)
