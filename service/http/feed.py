"""GET /v1/events: the feed, events in the order they were recorded, read page by page or waited for."""

import re
from typing import Annotated, Final

from litestar import get
from litestar.response import Stream
from msgspec import Meta

from service import follow
from service.domain.words import Ref, Subject
from service.http import columns, roles
from service.http.answers import JSON, Answer
from service.http.assets import KindName
from service.http.hanging_up import unless_hung_up
from service.http.negotiation import CSV
from service.http.paging import Listed, list_answer, read_page
from service.http.request import Asked, ledger_of
from service.page import Page, number

SEQ: Final = re.compile(r"[0-9]{1,18}")
LONGEST_WAIT: Final = 30
"""Seconds, as RFC 7240 counts what is waited for; proxies often let an answer take a minute."""
NOBODY: Final = 204
"""The status, in the log alone, of an answer that nobody is there for any more."""

Wait = Annotated[int, Meta(ge=0, le=LONGEST_WAIT)]

OfKind = Annotated[KindName | None, Meta(description="Events of this kind alone.")]
OfSite = Annotated[Ref | None, Meta(description="Events of this site alone.")]
OfSubject = Annotated[Subject | None, Meta(description="Events about this alone, such as `asset:FX-0142`.")]


class FeedQuestion(Listed, frozen=True, kw_only=True):
    """`after` is `next` of the page before, or a seq."""

    kind: OfKind = None
    site: OfSite = None
    subject: OfSubject = None
    wait: Annotated[Wait, Meta(description="Seconds to wait for something, where there is nothing yet.")] = 0


def followed(kind: str | None, site: str | None, subject: str | None) -> follow.Followed:
    """Say which events are asked for."""
    return follow.Followed(kinds=None if kind is None else (kind,), site=site, subject=subject)


@get("/events", may=roles.EVENTS, asks=FeedQuestion, offers=(JSON, CSV), columns=columns.EVENT, waits=True)
async def get_feed(request: Asked) -> Answer | Stream:
    """Read events in the order they were recorded; `next` is always given, so that a reader can come back for more.

    With `wait` an answer that would be empty is held back until something comes. Narrowed to a kind, a site or a
    subject, `next` moves over what was passed over, and an empty page may have `more` behind it: come back at once.
    """

    async def page(question: FeedQuestion) -> Page:
        wanted = followed(question.kind, question.site, question.subject)
        after, limit, seconds = number(question.after), question.limit, question.wait
        return await follow.page(ledger_of(request), request.auth, wanted, after=after, limit=limit, seconds=seconds)

    question = read_page(request, FeedQuestion, plain=SEQ)
    first = await (unless_hung_up(request, page(question)) if question.wait else page(question))
    return Answer(b"", status_code=NOBODY) if first is None else list_answer(request, question, "events", first, page)


HANDLERS = (get_feed,)
