"""/v1/webhooks: events sent to an address of the firm's own as they are recorded."""

from collections.abc import Awaitable, Callable
from datetime import timedelta
from typing import Annotated, Any
from uuid import UUID

import msgspec
from litestar import delete, get, post, put
from litestar.params import FromPath
from litestar.response import Stream
from msgspec import Meta

from service import push
from service.domain.webhook import Wish
from service.http import columns, roles
from service.http.answers import JSON, Answer, answer
from service.http.body import read_as, refuse_body
from service.http.conditional import tagged
from service.http.describing.plain_schemas import plain
from service.http.etags import start, written
from service.http.heads import IF_MATCH, IF_NONE_MATCH, IF_STILL, UNLESS
from service.http.negotiation import CSV
from service.http.paging import Listed, list_answer, read_page
from service.http.path import MOST_SEQ, FromSeq
from service.http.request import Asked, dispatcher_of, ledger_of, list_field
from service.page import Page
from service.store.deliveries import DeliveryState

NO_BODY = "Nothing is said here but the address: send no body."
LONGEST_OVERLAP = 168
"""Hours, a week: whoever needs longer to change a secret over has lost it."""


class NewWish(Wish, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A webhook to be made."""

    id: Annotated[UUID | None, Meta(description="A name of your own, which makes a repeat harmless.")] = None
    after: Annotated[
        Annotated[int, Meta(ge=0, le=MOST_SEQ)] | None,
        Meta(description="Send what was recorded after this seq, 0 for all; from now on if left out."),
    ] = None

    def wish(self) -> Wish:
        """Give what is wished of it."""
        return Wish(**{name: getattr(self, name) for name in Wish.__struct_fields__})


class Rotation(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A change of secrets."""

    overlap_hours: Annotated[
        int,
        Meta(
            ge=0,
            le=LONGEST_OVERLAP,
            description="For how many hours the secret before signs beside the new one; 0 ends it at once, and all "
            "before it.",
        ),
    ] = 24


class WebhooksQuestion(Listed, frozen=True, kw_only=True):
    """Where the list goes on."""


class DeliveriesQuestion(Listed, frozen=True, kw_only=True):
    """Which deliveries."""

    state: Annotated[DeliveryState | None, Meta(description="Deliveries in this state alone.")] = None


def taken(struct: type[msgspec.Struct], example: dict[str, Any]) -> dict[str, Any]:
    """Describe a body."""
    (_, found) = msgspec.json.schema_components([struct])
    told = plain(found[struct.__name__])
    return {name: told[name] for name in told if name not in {"title", "description"}} | {"examples": [example]}


WANTED = {"url": "https://erp.example.com/hooks/respirators", "kinds": ["reorder-approved", "order-placed"]}


@post(
    "/webhooks",
    may=roles.WEBHOOKS,
    takes=taken(NewWish, WANTED),
    said="What to send, and where to.",
    makes=True,
    signs=True,
    gives={201: "Made. The secret is shown this once.", 200: "A repeat: the webhook as it is, without the secret."},
)
async def post_webhook(request: Asked) -> Answer:
    """Have events sent to an address of your own as they are recorded.

    Each is posted by itself as a CloudEvent 1.0.2 in structured JSON (`application/cloudevents+json`), its `data` the
    event as the feed shows it, signed as Standard Webhooks 1.0.0 are. Answer with any status of 2xx to say that it was
    taken; redirects are not followed. What is not taken is sent again, up to ten times within 75 hours, and is then a
    dead letter; five times within three hours where the receiver refuses it (4xx but 408, 410, 425 and 429), which
    holds up no others. Events come in the order of `sequence`, those that are sent again behind others; one may come
    twice, with the same `webhook-id`, the event's id. The webhook sees what the key sees that makes it, and ends with
    it.
    """
    wanted = await read_as(request, NewWish)
    found, made = await push.create(
        ledger_of(request), dispatcher_of(request), request.auth, wanted.wish(), ident=wanted.id, after=wanted.after
    )
    place = {"Location": f"/v1/webhooks/{found['webhook']}"} if made else {}
    return answer(found, status=201 if made else 200, headers=place)


@get("/webhooks", may=roles.WEBHOOKS, asks=WebhooksQuestion, offers=(JSON, CSV), columns=columns.WEBHOOK)
async def get_webhooks(request: Asked) -> Answer | Stream:
    """List webhooks in the order they were made, with how each goes."""

    async def page(question: WebhooksQuestion) -> Page:
        return await push.listed(ledger_of(request), request.auth, after=question.after, limit=question.limit)

    question = read_page(request, WebhooksQuestion)
    return list_answer(request, question, "webhooks", await page(question), page)


@get(
    "/webhooks/{webhook_id:str}",
    may=roles.WEBHOOKS,
    heads=(IF_STILL, IF_NONE_MATCH),
    gives={200: "The webhook.", 304: "The version that is known already."},
)
async def get_webhook(request: Asked, webhook_id: FromPath[UUID]) -> Answer:
    """Read a webhook; its ETag is what a change has to name."""
    found, version = await push.one(ledger_of(request), request.auth, webhook_id)
    return tagged(request, found, written(version))


@put(
    "/webhooks/{webhook_id:str}",
    may=roles.WEBHOOKS,
    takes=taken(Wish, WANTED | {"state": "paused"}),
    said="What to send from now on, and where to.",
    heads=(IF_MATCH, UNLESS),
    gives={200: "Changed."},
)
async def put_webhook(request: Asked, webhook_id: FromPath[UUID]) -> Answer:
    """Change a webhook, pause it, or have it go on where it was after it was paused or stopped."""
    starts_from = start(list_field(request, "if-match"), list_field(request, "if-none-match"))
    found, version = await push.change(
        ledger_of(request), dispatcher_of(request), request.auth, webhook_id, await read_as(request, Wish), starts_from
    )
    return answer(found, headers={"ETag": written(version)})


@delete("/webhooks/{webhook_id:str}", may=roles.WEBHOOKS, status_code=200, gives={204: "There is none any more."})
async def delete_webhook(request: Asked, webhook_id: FromPath[UUID]) -> Answer:
    """Take a webhook away, and all that is told of its deliveries."""
    refuse_body(request, NO_BODY)
    await push.drop(ledger_of(request), dispatcher_of(request), request.auth, webhook_id)
    return Answer(b"", status_code=204)


@post(
    "/webhooks/{webhook_id:str}/secret",
    may=roles.WEBHOOKS,
    takes=taken(Rotation, {"overlap_hours": 24}),
    said="How long both secrets sign.",
    signs=True,
    rotates=True,
    gives={200: "The new secret, shown this once."},
)
async def post_webhook_secret(request: Asked, webhook_id: FromPath[UUID]) -> Answer:
    """Give a webhook a new secret; for a while its messages are signed with the one before, too.

    Every secret signs until the moment that was told of it, also when the webhook is given another one meanwhile. So if
    the answer was lost, ask again: what receivers know goes on. Three older secrets may sign at a time.
    """
    overlap = timedelta(hours=(await read_as(request, Rotation)).overlap_hours)
    return answer(await push.rotate(ledger_of(request), dispatcher_of(request), request.auth, webhook_id, overlap))


@post(
    "/webhooks/{webhook_id:str}/test",
    may=roles.WEBHOOKS,
    signs=True,
    tries=True,
    gives={200: "What came of it."},
)
async def post_webhook_test(request: Asked, webhook_id: FromPath[UUID]) -> Answer:
    """Send an event that is none of the log, of type `respirator-ledger.test.v1`, and tell what came of it."""
    refuse_body(request, NO_BODY)
    return answer(await push.test(ledger_of(request), dispatcher_of(request), request.auth, webhook_id))


@get(
    "/webhooks/{webhook_id:str}/deliveries",
    may=roles.WEBHOOKS,
    asks=DeliveriesQuestion,
    offers=(JSON, CSV),
    columns=columns.DELIVERY,
)
async def get_deliveries(request: Asked, webhook_id: FromPath[UUID]) -> Answer | Stream:
    """List what became of the events that a webhook was to send, newest first.

    What was taken is told for thirty days, nothing of what was answered beside its status.
    """
    reading = reader(request, webhook_id)
    question = read_page(request, DeliveriesQuestion)
    return list_answer(
        request, question, "deliveries", await reading(question, question.state), lambda q: reading(q, q.state)
    )


@get(
    "/webhooks/{webhook_id:str}/dead-letters",
    may=roles.WEBHOOKS,
    asks=WebhooksQuestion,
    offers=(JSON, CSV),
    columns=columns.DELIVERY,
)
async def get_dead_letters(request: Asked, webhook_id: FromPath[UUID]) -> Answer | Stream:
    """List the events that are sent no more, newest first: each was not taken ten times, or refused."""
    reading = reader(request, webhook_id)
    question = read_page(request, WebhooksQuestion)
    return list_answer(request, question, "deliveries", await reading(question, "dead"), lambda q: reading(q, "dead"))


def reader(request: Asked, webhook: UUID) -> Callable[[Listed, DeliveryState | None], Awaitable[Page]]:
    """Give what reads a page of deliveries."""

    async def page(question: Listed, state: DeliveryState | None) -> Page:
        return await push.delivered(
            ledger_of(request), request.auth, webhook, state=state, after=question.after, limit=question.limit
        )

    return page


@post(
    "/webhooks/{webhook_id:str}/dead-letters/{seq:int}/replay",
    may=roles.WEBHOOKS,
    gives={200: "It is sent again at once."},
)
async def replay_dead_letter(request: Asked, webhook_id: FromPath[UUID], seq: FromSeq) -> Answer:
    """Have a dead letter sent again, up to ten times more, with the same `webhook-id`."""
    refuse_body(request, NO_BODY)
    return answer(await push.replay(ledger_of(request), dispatcher_of(request), request.auth, webhook_id, seq))


HANDLERS = (
    post_webhook,
    get_webhooks,
    get_webhook,
    put_webhook,
    delete_webhook,
    post_webhook_secret,
    post_webhook_test,
    get_deliveries,
    get_dead_letters,
    replay_dead_letter,
)
