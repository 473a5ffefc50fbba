"""/v1/exceptions: what a manager must look at, counted by report and site, and each report's rows."""

from typing import Annotated, Literal

import msgspec
from litestar import get
from litestar.response import Stream
from msgspec import Meta

from service import exceptions
from service.assessing.exceptions import Wanted
from service.domain.words import Instant, Ref
from service.http import columns, count_forms, roles
from service.http.answers import JSON, Answer
from service.http.negotiation import CSV, media_of
from service.http.paging import Listed, list_answer, read_page
from service.http.path import FromRef
from service.http.query import AsAt, AtMoment, KnownAt, demand_forward, read
from service.http.request import Asked, ledger_of
from service.page import Page

Site = Annotated[Ref | None, Meta(description="What happened at this site alone.")]
Since = Annotated[Instant | None, Meta(description="What came about at this moment or later.")]
Until = Annotated[Instant | None, Meta(description="What came about before this moment.")]
Known = Annotated[
    Literal["true", "false"] | None,
    Meta(description="Rows that somebody with authority has acknowledged, or those that nobody has."),
]


class CountQuestion(AtMoment, frozen=True, kw_only=True):
    """Which exceptions to count."""

    site: Site = None
    since: Since = msgspec.field(default=None, name="from")
    until: Until = msgspec.field(default=None, name="to")

    def __post_init__(self) -> None:
        """Refuse a stretch that ends before it begins."""
        demand_forward(self.since, self.until)

    def wanted(self) -> Wanted:
        """Give what is asked of a row."""
        return Wanted(site=self.site, since=self.since, until=self.until)


class ReportQuestion(Listed, frozen=True, kw_only=True):
    """Which rows of a report."""

    as_at: AsAt = None
    known_at: KnownAt = None
    site: Site = None
    since: Since = msgspec.field(default=None, name="from")
    until: Until = msgspec.field(default=None, name="to")
    acknowledged: Known = None

    def __post_init__(self) -> None:
        """Refuse a stretch that ends before it begins."""
        demand_forward(self.since, self.until)

    def wanted(self) -> Wanted:
        """Give what is asked of a row."""
        known = None if self.acknowledged is None else self.acknowledged == "true"
        return Wanted(site=self.site, since=self.since, until=self.until, acknowledged=known)


@get("/exceptions", may=roles.EXCEPTIONS, asks=CountQuestion, offers=(JSON, CSV))
async def get_exceptions(request: Asked) -> Answer:
    """Count the exceptions of every report, by site; reports of failures that are not resolved come first."""
    question = read(request, CountQuestion)
    counted = await exceptions.counted(
        ledger_of(request),
        request.auth,
        as_at=question.as_at,
        known_at=question.known_at,
        wanted=question.wanted(),
    )
    return count_forms.told(counted, media_of(request))


@get(
    "/exceptions/{report:str}",
    may=roles.EXCEPTIONS,
    asks=ReportQuestion,
    offers=(JSON, CSV),
    columns=columns.EXCEPTION,
)
async def get_exception_report(request: Asked, report: FromRef) -> Answer | Stream:
    """List the rows of a report, newest first, each with its grounds and what to do next."""

    async def page(question: ReportQuestion) -> Page:
        return await exceptions.listed(
            ledger_of(request),
            request.auth,
            report,
            as_at=question.as_at,
            known_at=question.known_at,
            wanted=question.wanted(),
            after=question.after,
            limit=question.limit,
        )

    question = read_page(request, ReportQuestion)
    return list_answer(request, question, "rows", await page(question), page)


HANDLERS = (get_exceptions, get_exception_report)
