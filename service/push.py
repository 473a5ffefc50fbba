"""Push: have events sent to an address of the firm's own as they are recorded, and see what becomes of them.

A webhook may see what the key that made it may: its sites stay those, whoever changes it. It hangs on the key that made
or last changed it, and stops when that key ends. Keys see and change the webhooks that see nothing beyond their sites.
"""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from datetime import timedelta
from secrets import randbelow
from typing import Final
from uuid import UUID, uuid4

from msgspec.structs import replace
from psycopg import AsyncConnection

from service.assessing.moment import asked
from service.assessing.named import demand_site
from service.domain.caller import Caller
from service.domain.errors import (
    Malformed,
    NotFound,
    TooManySecrets,
    TooManyWebhooks,
    VersionMismatch,
    WebhookIdTaken,
    WebhooksOff,
)
from service.domain.kinds import BY_NAME
from service.domain.starting import Start
from service.domain.webhook import Wish
from service.ledger import Ledger
from service.page import Page, moment_and_name, number
from service.pushing import shown
from service.pushing.cloud_event import trial
from service.pushing.dispatcher import Dispatcher
from service.pushing.secret import new_secret
from service.pushing.secret import shown as secret_shown
from service.pushing.target import BadTarget, target_of
from service.store.change_webhook import change_webhook
from service.store.count_webhooks import count_webhooks
from service.store.deliveries import DeliveryState, deliveries
from service.store.drop_webhook import drop_webhook
from service.store.head_seq import head_seq
from service.store.make_webhook import NewWebhook, make_webhook
from service.store.replay_delivery import replay_delivery
from service.store.rotate_webhook import rotate_webhook
from service.store.scope import writing
from service.store.webhooks import Webhook, webhooks

MOST: Final = 100
"""How many webhooks an organisation may have."""
MOST_OLD: Final = 3
"""How many older secrets of a webhook may sign beside its newest: each makes the header of every message longer."""
VERSIONS: Final = 2**52
"""Among how many numbers the first version of a webhook is drawn, so that one made again under an id has no version of
the one before, neither in a line nor in an ETag; all are numbers that JSON carries as they are (RFC 8259 section 6)."""
WEBHOOK: Final = "webhook"
DEAD_LETTER: Final = "dead letter"


async def create(
    ledger: Ledger, dispatcher: Dispatcher, caller: Caller, wish: Wish, *, ident: UUID | None, after: int | None
) -> tuple[dict[str, object], bool]:
    """Make a webhook, which sends what is recorded after a seq, or from now on; tell its secret, this once.

    A repeat by its id is told without the secret, and that nothing was made. Raises WebhooksOff, Malformed,
    TooManyWebhooks and WebhookIdTaken.
    """
    if dispatcher.outlet.key is None:
        raise WebhooksOff
    await _demand(ledger, dispatcher, caller, wish)
    organisation, webhook = caller.organisation, ident or uuid4()
    secret, salt, mark = new_secret(dispatcher.outlet.key, organisation, webhook)
    async with writing(ledger.pool, organisation) as conn:
        new = NewWebhook(
            id=webhook,
            version=randbelow(VERSIONS) + 1,
            key=caller.key,
            sites=caller.sites,
            wish=wish,
            salt=salt,
            mark=mark,
            created_at=ledger.clock(),
            passed=await head_seq(conn, organisation) if after is None else after,
        )
        made = await make_webhook(conn, organisation, new, MOST)
        found = await webhooks(conn, organisation, sites=caller.sites, one=webhook)
        if not made and not found and await count_webhooks(conn, organisation) >= MOST:
            raise TooManyWebhooks(MOST)
    if not made and [_wish_of(row) for row in found] != [wish]:
        raise WebhookIdTaken
    dispatcher.nudge(organisation, webhook)
    return {**shown.definition(found[0]), "secret": secret_shown(secret) if made else None}, made


async def listed(ledger: Ledger, caller: Caller, *, after: str | None, limit: int) -> Page:
    """List webhooks in the order they were made, with how each goes. Raises BadCursor."""
    async with writing(ledger.pool, caller.organisation) as conn:
        rows = await webhooks(
            conn,
            caller.organisation,
            sites=caller.sites,
            after=None if after is None else moment_and_name(after),
            limit=limit + 1,
        )
    last = rows[limit - 1] if len(rows) > limit else None
    return Page(
        items=[shown.definition(row) | {"progress": shown.progress(row)} for row in rows[:limit]],
        next=None if last is None else f"{last.created_at.isoformat()} {last.id}",
    )


async def one(ledger: Ledger, caller: Caller, webhook: UUID) -> tuple[dict[str, object], int]:
    """Give a webhook and its version. Raises NotFound."""
    async with writing(ledger.pool, caller.organisation) as conn:
        row = await _found(conn, caller, webhook)
    return shown.definition(row), row.version


async def change(
    ledger: Ledger, dispatcher: Dispatcher, caller: Caller, webhook: UUID, wish: Wish, start: Start
) -> tuple[dict[str, object], int]:
    """Change a webhook; whatever stopped it is over. It goes on where it was, and hangs on the caller's key now.

    Raises NotFound, Malformed, PreconditionRequired and VersionMismatch.
    """
    async with writing(ledger.pool, caller.organisation) as conn:
        before = await _found(conn, caller, webhook)
    start.demand(before.version)
    sites = None if before.sites is None else frozenset(before.sites)
    await _demand(ledger, dispatcher, replace(caller, sites=sites), wish)
    async with _changing(ledger, dispatcher, caller, webhook) as (conn, row):
        start.demand(row.version)
        if not await change_webhook(conn, caller.organisation, row.id, wish, version=row.version, key=caller.key):
            raise VersionMismatch(row.version + 1, VersionMismatch.CHANGED)
    return await one(ledger, caller, webhook)


async def drop(ledger: Ledger, dispatcher: Dispatcher, caller: Caller, webhook: UUID) -> None:
    """Take a webhook away, and all that is told of its deliveries. Raises NotFound."""
    async with _changing(ledger, dispatcher, caller, webhook) as (conn, row):
        await drop_webhook(conn, caller.organisation, row.id)


async def rotate(
    ledger: Ledger, dispatcher: Dispatcher, caller: Caller, webhook: UUID, overlap: timedelta
) -> dict[str, object]:
    """Give a webhook another secret and tell it, this once; the one before signs beside it as long as they overlap.

    Those before that sign as long as was said of them, so that whoever lost an answer rotates again and breaks nothing.
    Without an overlap the new one signs alone; of a secret that the service can compute no more there is none.
    Raises NotFound, WebhooksOff and TooManySecrets.
    """
    key, now = dispatcher.outlet.key, ledger.clock()
    if key is None:
        raise WebhooksOff
    async with _changing(ledger, dispatcher, caller, webhook) as (conn, row):
        secret, salt, mark = new_secret(key, caller.organisation, row.id)
        known = dispatcher.outlet.secrets(caller.organisation, row, now)
        until = now + overlap if known and overlap else None
        if not await rotate_webhook(
            conn, caller.organisation, row.id, salt=salt, mark=mark, now=now, old_until=until, most=MOST_OLD
        ):
            await _found(conn, caller, webhook)  # it may be gone meanwhile
            raise TooManySecrets(MOST_OLD)
    return {"webhook": row.id, "secret": secret_shown(secret), "old_secret_until": until}


async def test(ledger: Ledger, dispatcher: Dispatcher, caller: Caller, webhook: UUID) -> dict[str, object]:
    """Send an event that is none of the log, once, whatever the webhook's state; tell what came of it.

    Raises NotFound, WebhooksOff and TooManyTrials.
    """
    now, tried = ledger.clock(), uuid4()
    async with writing(ledger.pool, caller.organisation) as conn:
        row = await _found(conn, caller, webhook)
    if dispatcher.outlet.key is None:
        raise WebhooksOff
    secrets = dispatcher.outlet.secrets(caller.organisation, row, now)
    body = trial(caller.organisation, row.id, tried, now)
    sent = await dispatcher.outlet.tried(caller.organisation, row.url, secrets, str(tried), body)
    return {
        "event": tried,
        "delivered": sent.answered.error is None,
        "status": sent.answered.status,
        "error": sent.answered.error,
        "milliseconds": sent.milliseconds,
    }


async def delivered(
    ledger: Ledger, caller: Caller, webhook: UUID, *, state: DeliveryState | None, after: str | None, limit: int
) -> Page:
    """List what became of the events that a webhook was to send, newest first. Raises NotFound and BadCursor."""
    async with writing(ledger.pool, caller.organisation) as conn:
        row = await _found(conn, caller, webhook)
        before = None if after is None else number(after)
        found = await deliveries(conn, caller.organisation, row.id, state=state, before=before, limit=limit + 1)
    more = len(found) > limit
    return Page(
        items=[shown.line(delivery) for delivery in found[:limit]],
        next=str(found[limit - 1].seq) if more else None,
        about={"webhook": row.id, "progress": shown.progress(row)},
    )


async def replay(ledger: Ledger, dispatcher: Dispatcher, caller: Caller, webhook: UUID, seq: int) -> dict[str, object]:
    """Have a dead letter sent again, with a new schedule before it; its receiver knows it by the same id.

    Raises NotFound where there is no such webhook, or no dead letter of that seq.
    """
    async with _changing(ledger, dispatcher, caller, webhook) as (conn, row):
        if not await replay_delivery(conn, caller.organisation, row.id, seq, ledger.clock()):
            raise NotFound(DEAD_LETTER, f"/v1/webhooks/{row.id}/dead-letters lists those there are")
        (found,) = await deliveries(conn, caller.organisation, row.id, state=None, before=seq + 1, limit=1)
    return shown.line(found)


async def _found(conn: AsyncConnection, caller: Caller, webhook: UUID) -> Webhook:
    """Give a webhook that the key may see. Raises NotFound."""
    for row in await webhooks(conn, caller.organisation, sites=caller.sites, one=webhook):
        return row
    raise NotFound(WEBHOOK)


@asynccontextmanager
async def _changing(
    ledger: Ledger, dispatcher: Dispatcher, caller: Caller, webhook: UUID
) -> AsyncIterator[tuple[AsyncConnection, Webhook]]:
    """Give a transaction and a webhook in it; once it is committed, who serves the webhook is told. Raises NotFound."""
    async with writing(ledger.pool, caller.organisation) as conn:
        yield conn, await _found(conn, caller, webhook)
    dispatcher.nudge(caller.organisation, webhook)


async def _demand(ledger: Ledger, dispatcher: Dispatcher, caller: Caller, wish: Wish) -> None:
    """Refuse an address that nothing is sent to, a kind that there is not, and a site that `caller` does not read.

    A webhook reads with the sites it was made with, whoever changes it: `caller` has those.
    """
    try:
        target_of(wish.url, private=dispatcher.outlet.way.private)
    except BadTarget as error:
        raise Malformed("/url", str(error)) from error
    for place, kind in enumerate(wish.kinds or ()):
        if kind not in BY_NAME:
            raise Malformed(f"/kinds/{place}", "there is no such kind of event")
    if wish.site is not None:
        async with asked(ledger, caller) as question:
            try:
                demand_site(question, wish.site)
            except NotFound as error:
                raise Malformed("/site", "there is no such site, or none that this webhook may see") from error


def _wish_of(row: Webhook) -> Wish:
    """Give what was wished of a webhook, as far as it is now."""
    kinds = None if row.kinds is None else tuple(row.kinds)
    state = "active" if row.state == "disabled" else row.state
    return Wish(url=row.url, purpose=row.purpose, kinds=kinds, site=row.site, subject=row.subject, state=state)
