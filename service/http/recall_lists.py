"""/v1/recalls/{ref}: what a recall has done by site, who had or wore its units, its stock, and their histories."""

from collections.abc import Awaitable, Callable
from typing import Final

from litestar import get
from litestar.response import Stream

from service import recalls
from service.assessing import handed_on
from service.assessing.log import Some, Told, history_of
from service.assessing.moment import Question
from service.assessing.recall_history import Telling
from service.assessing.stock_history import Stocked, stock_drawn, stock_posted
from service.assessing.units import Found
from service.domain.caller import Caller
from service.domain.intervals import MOMENT
from service.http import columns, roles
from service.http.answers import JSON, Answer
from service.http.negotiation import CSV, JSON_LD, media_of
from service.http.paging import list_answer, read_page
from service.http.path import FromRef
from service.http.recalls import ImpactQuestion
from service.http.request import Asked, ledger_of, names_of
from service.ledger import Ledger
from service.outbound.epcis.names import Names
from service.page import Page
from service.recalls import Wanted

List = Callable[[Ledger, Caller, str, Wanted], Awaitable[Page]]


@get(
    "/recalls/{ref:str}/sites",
    may=roles.RECALLS,
    asks=ImpactQuestion,
    offers=(JSON, CSV),
    columns=columns.RECALL_SITE,
)
async def get_recall_sites(request: Asked, ref: FromRef) -> Answer | Stream:
    """Count by site what a recall has done, at each site that has units or stock it speaks of."""
    return await _listed(request, ref, "sites", recalls.sites)


@get(
    "/recalls/{ref:str}/people",
    may=roles.EXPOSED,
    asks=ImpactQuestion,
    offers=(JSON, CSV),
    columns=columns.RECALL_PERSON,
)
async def get_recall_people(request: Asked, ref: FromRef) -> Answer | Stream:
    """List who had or wore units while they held what a recall speaks of, by reference, and for how long."""
    return await _listed(request, ref, "people", recalls.people)


@get(
    "/recalls/{ref:str}/stock",
    may=roles.RECALLS,
    asks=ImpactQuestion,
    offers=(JSON, CSV),
    columns=columns.RECALL_STOCK,
)
async def get_recall_stock(request: Asked, ref: FromRef) -> Answer | Stream:
    """List the spare stock that a recall speaks of, by site, item, lot, expiry and unit."""
    return await _listed(request, ref, "stock", recalls.stock)


@get(
    "/recalls/{ref:str}/history",
    may=roles.RECALLS,
    asks=ImpactQuestion,
    offers=(JSON_LD, CSV),
    columns=columns.EVENT,
    gives={200: "The events of all units and of all stock that it speaks of."},
)
async def get_recall_history(request: Asked, ref: FromRef) -> Answer | Stream:
    """Hand on the history of all units that a recall speaks of, unit by unit, by their tags, and then of its stock.

    It is a document of EPCIS 2.0 (ISO/IEC 19987), without persons and free text; as a table, the events as they were
    posted. What was taken back is told as such. Nothing is told that happened after the moment asked about. Of stock
    it is what came, went, was counted and thrown away of what the recall names, or may name, as its lot was not taken
    down.
    """
    telling = _drawn(names_of(request)) if media_of(request) == JSON_LD else POSTED

    async def listed(ledger: Ledger, caller: Caller, ref: str, wanted: Wanted) -> Page:
        return await recalls.history(ledger, caller, ref, wanted, telling)

    return await _listed(request, ref, "events", listed)


def _drawn(names: Names) -> Telling:
    async def unit(question: Question, found: Found, after: int, limit: int) -> Some:
        return handed_on.some(found, question, names, _by_then(question), after=after, limit=limit)

    async def stock(question: Question, found: Stocked, after: int, limit: int) -> Some:
        return stock_drawn(question, found, names, after=after, limit=limit)

    return Telling(unit, stock)


async def _unit_posted(question: Question, found: Found, after: int, limit: int) -> Some:
    return await history_of(question, found, _by_then(question), after=after, limit=limit)


async def _stock_posted(question: Question, found: Stocked, after: int, limit: int) -> Some:
    return await stock_posted(question, found, after=after, limit=limit)


POSTED: Final = Telling(_unit_posted, _stock_posted)


def _by_then(question: Question) -> Told:
    return Told(until=question.as_at + MOMENT)


async def _listed(request: Asked, ref: str, name: str, read: List) -> Answer | Stream:
    async def page(question: ImpactQuestion) -> Page:
        return await read(ledger_of(request), request.auth, ref, question.wanted())

    question = read_page(request, ImpactQuestion)
    return list_answer(request, question, name, await page(question), page)


HANDLERS = (get_recall_sites, get_recall_people, get_recall_stock, get_recall_history)
