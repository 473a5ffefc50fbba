"""GET /v1/events/stream: the feed as server-sent events (WHATWG HTML, section 9.2), from where the reader was on.

An event's `id` is the cursor behind it, its `event` the kind, its `data` the event as in the feed. Once all
is told, and every fifteen seconds before and after, a line of comment says that the stream is alive; where events were
passed over, a block of an `id` alone goes before it, which moves the reader's cursor and is no event.
"""

import asyncio
from collections.abc import AsyncGenerator, AsyncIterator, Mapping
from contextlib import aclosing
from typing import Final

import msgspec
import structlog
from litestar import get
from litestar.response import Stream

from service import follow
from service.domain.errors import BadCursor, CursorAhead, InvalidKey, PositionNotReached
from service.http import roles
from service.http.cursors import Cursor, seal, unseal
from service.http.failures import why
from service.http.feed import SEQ, OfKind, OfSite, OfSubject, followed
from service.http.heads import head
from service.http.methods import BODILESS
from service.http.negotiation import EVENT_STREAM
from service.http.paging import After, question_of
from service.http.query import read
from service.http.request import Asked, ledger_of, list_field
from service.page import Page, number
from service.store.errors import AWAY

RETRY: Final = b"retry: 1000\n"
"""Milliseconds after which a reader whose connection broke comes back."""
ALIVE: Final = b":\n"
HEADERS: Final = {"X-Accel-Buffering": "no"}
"""Proxies that know it pass on what comes as it comes."""
LAST_EVENT_ID: Final = head(
    "Last-Event-ID", "Where to go on: the `id` of the last event, or a seq. It counts before `after`.", "48211"
)

log = structlog.get_logger()


class StreamQuestion(msgspec.Struct, frozen=True, kw_only=True):
    """`after` is `next` of a page of the feed, or a seq."""

    after: After | None = None
    kind: OfKind = None
    site: OfSite = None
    subject: OfSubject = None


@get(
    "/events/stream",
    may=roles.EVENTS,
    asks=StreamQuestion,
    heads=(LAST_EVENT_ID,),
    offers=(EVENT_STREAM,),
    goes_on="/v1/events",
    waits=True,
    gives={200: "Events, as long as the reader, the key and the service last."},
)
async def get_event_stream(request: Asked) -> Stream:
    """Follow events as they are recorded, as server-sent events; a reader that comes back goes on where it was.

    The stream ends when the key does, or the service: come back with `Last-Event-ID`.
    """
    question = read(request, StreamQuestion)
    wanted = followed(question.kind, question.site, question.subject)
    after = start(request, question.after)
    pages = follow.pages(ledger_of(request), request.auth, wanted, after=after)
    first = await anext(pages)  # whatever is refused is refused before the answer begins
    return Stream(told(request, after, first, pages), media_type=EVENT_STREAM, headers=HEADERS)


def start(request: Asked, after: str | None) -> int:
    """Read where the stream goes on. Raises BadCursor naming the parameter or header."""
    last = list_field(request, LAST_EVENT_ID["name"].lower())
    name, text = ("after", after) if not last else (LAST_EVENT_ID["name"], last)
    if text is None or SEQ.fullmatch(text):
        return number(text)
    try:
        return number(unseal(text, question_of(request), request.auth.organisation).key)
    except BadCursor as error:
        raise BadCursor(name) from error


async def told(request: Asked, after: int, first: Page, pages: AsyncGenerator[Page]) -> AsyncIterator[bytes]:
    """Write the stream. What ends it once it has begun can be told in no other way than by its end."""
    clock, last, caught_up = asyncio.get_running_loop().time, str(after), False
    alive_at = clock()
    async with aclosing(pages):
        if request.scope["state"].get(BODILESS):
            return
        yield RETRY
        async for page in _with(first, pages):
            for event in page.items:
                last = str(event["seq"])
                yield block(event, cursor(request, last))
            at_last = not (caught_up or page.about["more"])
            caught_up = caught_up or at_last
            if not at_last and clock() - alive_at < follow.HEARTBEAT:
                continue
            if page.next != last:
                last = str(page.next)
                yield b"id: %b\n\n" % cursor(request, last)
            alive_at = clock()
            yield ALIVE


async def _with(first: Page, pages: AsyncIterator[Page]) -> AsyncIterator[Page]:
    """Give the first page and those after it, until the key ends, or the database is away or another one."""
    yield first
    try:
        async for page in pages:
            yield page
    except (InvalidKey, CursorAhead, PositionNotReached):  # who comes back is told why
        return
    except AWAY as error:
        log.warning("database unavailable", why=why(error), exc_info=error)


def block(event: Mapping[str, object], cursor: bytes) -> bytes:
    """Write one event; its JSON has no line breaks."""
    kind = str(event["kind"]).encode()
    return b"id: %b\nevent: %b\ndata: %b\n\n" % (cursor, kind, msgspec.json.encode(event))


def cursor(request: Asked, seq: str) -> bytes:
    """Write where the stream goes on behind a seq: a cursor of the feed."""
    return seal(Cursor(seq), question_of(request), request.auth.organisation).encode()


HANDLERS = (get_event_stream,)
