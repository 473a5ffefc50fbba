"""/v1/recalls: which there are, what each has done, what one would do, and what the sites are told."""

from datetime import date
from typing import Annotated

import msgspec
from litestar import get, post
from litestar.response import Stream
from msgspec import Meta

from service import recalls
from service.domain.kinds.recall_opened import Action, Criterion
from service.domain.value import Value
from service.domain.words import MANY, Ref
from service.http import columns, roles
from service.http.answers import JSON, Answer
from service.http.body import read_as
from service.http.describing.plain_schemas import plain
from service.http.negotiation import CSV, HTML
from service.http.paging import Listed, list_answer, read_page
from service.http.path import FromRef
from service.http.problem_pages import html
from service.http.query import AsAt, AtMoment, KnownAt, read
from service.http.request import Asked, ledger_of
from service.page import Page
from service.pages.notice import notice
from service.recalls import Supposed, Wanted

Site = Annotated[Ref | None, Meta(description="Units counted with this site, its stock, and who had units there.")]


class RecallsQuestion(Listed, frozen=True, kw_only=True):
    """Which recalls: those opened by a moment."""

    as_at: AsAt = None
    known_at: KnownAt = None


class ImpactQuestion(RecallsQuestion, frozen=True, kw_only=True):
    """When, and of which site."""

    site: Site = None

    def wanted(self) -> Wanted:
        """Give what is asked."""
        return msgspec.convert(self, Wanted, from_attributes=True)


class NoticeQuestion(AtMoment, frozen=True, kw_only=True):
    """When, and for which site."""

    site: Annotated[
        Ref | None,
        Meta(
            description="For this site alone; else for each that has something of it, "
            "and where none has, for those of a key that is bound to sites."
        ),
    ] = None


class Previewed(Value, frozen=True, kw_only=True):
    """A recall that nobody has opened."""

    criteria: Annotated[
        tuple[Criterion, ...],
        Meta(min_length=1, max_length=MANY, description="What would be affected, as in `recall-opened`."),
    ]
    action: Annotated[Action | None, Meta(description="What would be asked; it is told back.")] = None
    due_on: Annotated[date | None, Meta(description="By which day; it is told back.")] = None


REF = "#/components/schemas/{name}"
PREVIEWED = {
    **plain(msgspec.json.schema_components([Previewed], ref_template=REF)[1]["Previewed"]),
    "examples": [{"criteria": [{"item": "pf-170", "lot_from": "L2411", "lot_to": "L2415"}], "action": "stop-use"}],
}


@get("/recalls", may=roles.RECALLS, asks=RecallsQuestion, offers=(JSON, CSV), columns=columns.RECALL)
async def get_recalls(request: Asked) -> Answer | Stream:
    """List the recalls, by their names, as they were opened and closed.

    What each has done is counted at its own address: for that, every unit that it speaks of is looked at.
    """

    async def page(question: RecallsQuestion) -> Page:
        return await recalls.listed(
            ledger_of(request),
            request.auth,
            as_at=question.as_at,
            known_at=question.known_at,
            after=question.after,
            limit=question.limit,
        )

    question = read_page(request, RecallsQuestion)
    return list_answer(request, question, "recalls", await page(question), page)


@get(
    "/recalls/{ref:str}/impact",
    may=roles.RECALLS,
    asks=ImpactQuestion,
    offers=(JSON, CSV),
    columns=columns.RECALL_UNIT,
)
async def get_recall_impact(request: Asked, ref: FromRef) -> Answer | Stream:
    """Tell what a recall has done: units, sites, people, stock, day by day, and what the records cannot tell.

    It speaks of units in which something that it names sits now or sat before, or of which it cannot be known. The
    units come page by page, by their tags; whatever stands beside them is of all units, on every page. A quarantine
    that was ordered from a desk stops a unit; it is put away when it is quarantined with a place, or returned.
    """

    async def page(question: ImpactQuestion) -> Page:
        return await recalls.impact(ledger_of(request), request.auth, ref, question.wanted())

    question = read_page(request, ImpactQuestion)
    return list_answer(request, question, "units", await page(question), page)


@post(
    "/recalls/preview",
    may=roles.RECALLS,
    asks=ImpactQuestion,
    takes=PREVIEWED,
    said="What a recall would speak of.",
    reads=True,
    offers=(JSON, CSV),
    columns=columns.RECALL_UNIT,
    gives={200: "What it would reach."},
)
async def post_recall_preview(request: Asked) -> Answer | Stream:
    """Tell what a recall would reach that is opened at the moment asked about. Nothing is recorded.

    The answer is that of a recall's impact, without anything done about it. To go on with `after`, send the same body:
    it belongs to no other.
    """
    said = await read_as(request, Previewed)
    question = read_page(request, ImpactQuestion, said=said)
    what = Supposed(criteria=said.criteria, action=said.action, due_on=said.due_on)

    async def page(question: ImpactQuestion) -> Page:
        return await recalls.preview(ledger_of(request), request.auth, what, question.wanted())

    return list_answer(request, question, "units", await page(question), page, said=said)


@get("/recalls/{ref:str}/notice", may=roles.RECALLS, asks=NoticeQuestion, offers=(HTML,))
async def get_recall_notice(request: Asked, ref: FromRef) -> Answer:
    """Draw the notice of a recall to print: for each site what to do, its units and stock, and room to sign."""
    question = read(request, NoticeQuestion)
    wanted = Wanted(as_at=question.as_at, known_at=question.known_at, site=question.site)
    return html(notice(await recalls.notices(ledger_of(request), request.auth, ref, wanted)))


HANDLERS = (get_recalls, get_recall_impact, post_recall_preview, get_recall_notice)
