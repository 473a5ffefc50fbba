"""/v1/events: what happened, posted; and one event, read."""

from uuid import UUID

from litestar import get, post
from litestar.params import FromPath

from service import assess
from service.http import roles
from service.http.answers import Answer, answer
from service.http.body import posted
from service.http.heads import DATE, IDEMPOTENCY_KEY, PREFER
from service.http.idempotency import answered_once, fingerprint, refuse_name
from service.http.limits import MAX_EVENTS
from service.http.ndjson import stream_answer
from service.http.negotiation import is_stream
from service.http.preferences import handling, sent_at
from service.http.receipts import batch_answer, receipt_answer
from service.http.request import Asked, ledger_of
from service.record import record

#: What is posted, and what comes back.
EVENT = {"$ref": "#/components/schemas/Event"}
EVENTS = {"oneOf": [EVENT, {"type": "array", "items": EVENT, "maxItems": MAX_EVENTS}]}
GIVES = {
    200: "A repeat: what was recorded then, and the unit as it is now. To lines: a result for each, in their order, "
    "and a last line that counts them.",
    201: "Recorded.",
    207: "One result per event, in their order, each with the status it would have had alone.",
}


@post(
    "/events",
    may=roles.POSTING,
    takes=EVENTS,
    streams=True,
    heads=(DATE, IDEMPOTENCY_KEY, PREFER),
    records=True,
    gives=GIVES,
    request_max_body_size=None,  # a stream of lines has no end that could be counted; other bodies are counted as read
)
async def post_events(request: Asked) -> Answer:
    """Record one event, an array of up to 1,000, or a stream of lines, each accepted or refused by itself.

    Lines (`application/x-ndjson`) have 64 KiB each at most and no end in number. They are recorded as they come, 500 or
    50 ms of them at a time, and their results come while more is sent. Who does not read them is not waited for: past
    1 MiB of them results are dropped, counted in the last line, and got by sending those lines again.
    """
    ledger, received_at = ledger_of(request), ledger_of(request).clock()
    clock, how = sent_at(request), handling(request)
    if is_stream(request):
        refuse_name(request)
        return await stream_answer(request, received_at, clock, how)
    said = await posted(request)

    async def recorded() -> Answer:
        receipts = await record(
            ledger, request.auth, said.messages, received_at=received_at, sent_at=clock, **how._asdict()
        )
        return batch_answer(request, receipts) if said.batch else receipt_answer(request, receipts[0])

    return await answered_once(request, fingerprint(said, how), recorded)


@get("/events/{event_id:str}", may=roles.EVENTS)
async def get_event(request: Asked, event_id: FromPath[UUID]) -> Answer:
    """Read one event, with what the service added."""
    return answer(await assess.event(ledger_of(request), request.auth, event_id))


HANDLERS = (post_events, get_event)
