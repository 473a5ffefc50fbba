"""/v1/compliance: the answer for all sites, and the units behind each number."""

from typing import Annotated

from litestar import get
from litestar.response import Stream
from msgspec import Meta

from service import assess
from service.assessing.places import Places
from service.assessing.summary import GroupedBy
from service.assessing.unit_list import Wanted
from service.domain.standing import Standing
from service.domain.words import Jurisdiction, Label, Ref
from service.http import roles
from service.http.answers import JSON, Answer
from service.http.columns import UNIT
from service.http.negotiation import CSV, TEXT, media_of
from service.http.paging import Listed, list_answer, read_page
from service.http.query import AsAt, AtMoment, KnownAt, read
from service.http.request import Asked, ledger_of
from service.http.summary_forms import told
from service.page import Page

Site = Annotated[Ref | None, Meta(description="This site alone.")]
Region = Annotated[Label | None, Meta(description="The sites of this region.")]
OfProfile = Annotated[Jurisdiction | None, Meta(description="The sites of this jurisdiction.")]
Model = Annotated[Ref | None, Meta(description="Units of this model alone.")]


class SummaryQuestion(AtMoment, frozen=True, kw_only=True):
    """When, and which sites and units."""

    site: Site = None
    region: Region = None
    profile: OfProfile = None
    model: Model = None
    group_by: Annotated[
        GroupedBy | None, Meta(description="Gives the same numbers by region, jurisdiction or model, too.")
    ] = None


class BehindQuestion(Listed, frozen=True, kw_only=True):
    """Which units behind the numbers."""

    as_at: AsAt = None
    known_at: KnownAt = None
    site: Site = None
    region: Region = None
    profile: OfProfile = None
    model: Model = None
    standing: Annotated[Standing | None, Meta(description="Units of this standing.")] = None
    rule: Annotated[Ref | None, Meta(description="Units that this rule gives the standing.")] = None


@get("/compliance", may=roles.SUMMARY, asks=SummaryQuestion, offers=(JSON, CSV, TEXT))
async def get_compliance(request: Asked) -> Answer:
    """Sum up all sites at one moment, as known at another."""
    question = read(request, SummaryQuestion)
    summary = await assess.compliance(
        ledger_of(request),
        request.auth,
        as_at=question.as_at,
        known_at=question.known_at,
        places=Places(site=question.site, region=question.region, profile=question.profile),
        model=question.model,
        group_by=question.group_by,
    )
    return told(summary, media_of(request))


@get("/compliance/assets", may=roles.SUMMARY, asks=BehindQuestion, offers=(JSON, CSV), columns=UNIT)
async def get_compliance_assets(request: Asked) -> Answer | Stream:
    """List the units behind the numbers of a summary."""

    async def page(question: BehindQuestion) -> Page:
        return await assess.compliance_assets(
            ledger_of(request),
            request.auth,
            as_at=question.as_at,
            known_at=question.known_at,
            places=Places(site=question.site, region=question.region, profile=question.profile),
            wanted=Wanted(model=question.model, standing=question.standing, rule=question.rule),
            after=question.after,
            limit=question.limit,
        )

    question = read_page(request, BehindQuestion)
    return list_answer(request, question, "assets", await page(question), page)


HANDLERS = (get_compliance, get_compliance_assets)
