"""/v1/assets: the units, each as it is, as it was, and all that happened to it."""

from collections.abc import Mapping
from functools import partial
from typing import Annotated

import msgspec
from litestar import get
from litestar.response import Stream
from msgspec import Meta

from service import assess
from service.assessing.log import Told
from service.assessing.places import Places
from service.assessing.unit_list import Wanted
from service.domain.kinds import KINDS
from service.domain.standing import Standing
from service.domain.unit import Phase
from service.domain.words import Instant, Label, Ref
from service.http import roles
from service.http.answers import JSON, Answer, answer
from service.http.columns import EVENT, UNIT_NOW
from service.http.conditional import tagged
from service.http.etags import of_content
from service.http.heads import IF_NONE_MATCH, IF_STILL
from service.http.negotiation import CSV, JSON_LD, media_of
from service.http.paging import Listed, list_answer, read_page
from service.http.path import FromRef
from service.http.query import AtMoment, KnownAt, demand_forward, read
from service.http.request import Asked, ledger_of, names_of
from service.page import Page

MOMENTS = frozenset({"as_at", "known_at", "judged_to", "rules_to", "projection"})
"""What an answer says of itself and not of the unit."""
KindName = Annotated[str, Meta(pattern=f"^({'|'.join(kind.kind for kind in KINDS)})$")]


class AssetsQuestion(Listed, frozen=True, kw_only=True):
    """Which units; all that is given must hold."""

    site: Annotated[Ref | None, Meta(description="Units that are counted with this site.")] = None
    phase: Annotated[Phase | None, Meta(description="Where the unit is.")] = None
    standing: Annotated[Standing | None, Meta(description="Whether it may be used.")] = None
    model: Annotated[Ref | None, Meta(description="Units of this model.")] = None
    holder: Annotated[Ref | None, Meta(description="Units that this person, crew, vehicle or place has.")] = None
    due_before: Annotated[
        Instant | None,
        Meta(description="Units in scope whose thorough examination falls due before this moment, or has already."),
    ] = None
    text: Annotated[Label | None, Meta(description="Part of the tag, of an earlier one, or of the serial number.")] = (
        None
    )


Since = Annotated[Instant | None, Meta(description="The beginning of the stretch of time.")]
Until = Annotated[Instant | None, Meta(description="Its end, which does not belong to it.")]


class HistoryQuestion(Listed, frozen=True, kw_only=True):
    """Which events of a unit, by when they happened."""

    since: Since = msgspec.field(default=None, name="from")
    until: Until = msgspec.field(default=None, name="to")
    known_at: KnownAt = None
    kind: Annotated[KindName | None, Meta(description="Events of this kind alone.")] = None

    def __post_init__(self) -> None:
        """Refuse a stretch that ends before it begins."""
        demand_forward(self.since, self.until)


class StandingQuestion(msgspec.Struct, frozen=True, kw_only=True):
    """Which stretch of time, as known when."""

    since: Since = msgspec.field(default=None, name="from")
    until: Until = msgspec.field(default=None, name="to")
    known_at: KnownAt = None

    def __post_init__(self) -> None:
        """Refuse a stretch that ends before it begins."""
        demand_forward(self.since, self.until)


@get("/assets", may=roles.ASSETS, asks=AssetsQuestion, offers=(JSON, CSV), columns=UNIT_NOW)
async def get_assets(request: Asked) -> Answer | Stream:
    """List the units, as they are now."""

    async def page(question: AssetsQuestion) -> Page:
        return await assess.assets(
            ledger_of(request),
            request.auth,
            places=Places(site=question.site),
            wanted=Wanted(
                now=True,
                phase=question.phase,
                standing=question.standing,
                model=question.model,
                holder=question.holder,
                due_before=question.due_before,
                text=question.text,
            ),
            after=question.after,
            limit=question.limit,
        )

    question = read_page(request, AssetsQuestion)
    return list_answer(request, question, "assets", await page(question), page)


@get(
    "/assets/{tag:str}",
    may=roles.ASSETS,
    asks=AtMoment,
    heads=(IF_STILL, IF_NONE_MATCH),
    gives={200: "The unit.", 304: "What is known of the unit already."},
)
async def get_asset(request: Asked, tag: FromRef) -> Answer:
    """Read one unit: where it is, whether it may be used, and why; its ETag changes with what is said of it."""
    question = read(request, AtMoment)
    told = await assess.asset(ledger_of(request), request.auth, tag, as_at=question.as_at, known_at=question.known_at)
    return tagged(request, told, etag_of(told, question))


def etag_of(told: Mapping[str, object], question: AtMoment) -> str:
    """Give the tag of what is said of a unit: strong where the moments are given, so that every byte is the same.

    Else the answer tells beside it when it was asked, and on how much of the log it rests: the tag is weak.
    """
    said = {name: value for name, value in told.items() if name not in MOMENTS}
    return of_content(msgspec.json.encode(said), weak=question.as_at is None or question.known_at is None)


@get("/assets/{tag:str}/history", may=roles.ASSETS, asks=HistoryQuestion, offers=(JSON, CSV, JSON_LD), columns=EVENT)
async def get_history(request: Asked, tag: FromRef) -> Answer | Stream:
    """List the events of a unit in the order they happened.

    As `application/ld+json` it is handed on in the words of EPCIS 2.0 (ISO/IEC 19987): what happened to the unit and
    its parts, without persons and free text. What was taken back stands with an error declaration. Such a document has
    all there is where `limit` is left out, like a table.
    """
    handed_on = media_of(request) == JSON_LD
    read_history = partial(assess.history_handed_on, names=names_of(request)) if handed_on else assess.history

    async def page(question: HistoryQuestion) -> Page:
        return await read_history(
            ledger_of(request),
            request.auth,
            tag,
            known_at=question.known_at,
            wanted=Told(kind=question.kind, since=question.since, until=question.until),
            after=question.after,
            limit=question.limit,
        )

    question = read_page(request, HistoryQuestion)
    return list_answer(request, question, "events", await page(question), page)


@get("/assets/{tag:str}/standing", may=roles.ASSETS, asks=StandingQuestion)
async def get_standing(request: Asked, tag: FromRef) -> Answer:
    """Read the standing of a unit over time, with the rules, grounds and clauses behind it."""
    question = read(request, StandingQuestion)
    return answer(
        await assess.standing(
            ledger_of(request),
            request.auth,
            tag,
            since=question.since,
            until=question.until,
            known_at=question.known_at,
        )
    )


HANDLERS = (get_assets, get_asset, get_history, get_standing)
