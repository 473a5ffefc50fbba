"""/v1/events: what happened, posted and read in the order it was recorded."""

import re
from uuid import UUID

from litestar import get, post
from litestar.params import FromPath

from service import assess
from service.http import columns, roles
from service.http.answers import JSON, Answer, answer
from service.http.body import posted
from service.http.heads import DATE, PREFER
from service.http.limits import MAX_EVENTS
from service.http.negotiation import CSV
from service.http.paging import Listed, list_answer, read_page
from service.http.preferences import imported, sent_at
from service.http.receipts import batch_answer, receipt_answer
from service.http.request import Asked, ledger_of
from service.page import number
from service.record import record

SEQ = re.compile(r"[0-9]{1,18}")


#: What is posted, and what comes back.
EVENT = {"$ref": "#/components/schemas/Event"}
EVENTS = {"oneOf": [EVENT, {"type": "array", "items": EVENT, "maxItems": MAX_EVENTS}]}
GIVES = {
    200: "A repeat: what was recorded then, and the unit as it is now.",
    201: "Recorded.",
    207: "One result per event, in their order, each with the status it would have had alone.",
}


class FeedQuestion(Listed, frozen=True, kw_only=True):
    """`after` is `next` of the page before, or a seq."""


@post("/events", may=roles.POSTING, takes=EVENTS, heads=(DATE, PREFER), records=True, gives=GIVES)
async def post_events(request: Asked) -> Answer:
    """Record one event, or an array of up to 1,000, each accepted or refused by itself."""
    ledger, received_at = ledger_of(request), ledger_of(request).clock()
    clock, past = sent_at(request), imported(request)
    said = await posted(request)
    receipts = await record(ledger, request.auth, said.messages, received_at=received_at, sent_at=clock, imported=past)
    return batch_answer(request, receipts) if said.batch else receipt_answer(request, receipts[0])


@get("/events", may=roles.EVENTS, asks=FeedQuestion, offers=(JSON, CSV), columns=columns.EVENT)
async def get_feed(request: Asked) -> Answer:
    """Read events in the order they were recorded; `next` is always given, so that a reader can come back for more."""
    question = read_page(request, FeedQuestion, plain=SEQ)
    page = await assess.feed(ledger_of(request), request.auth, after=number(question.after), limit=question.limit)
    return list_answer(request, question, "events", page)


@get("/events/{event_id:uuid}", may=roles.EVENTS)
async def get_event(request: Asked, event_id: FromPath[UUID]) -> Answer:
    """Read one event, with what the service added."""
    return answer(await assess.event(ledger_of(request), request.auth, event_id))


HANDLERS = (post_events, get_feed, get_event)
