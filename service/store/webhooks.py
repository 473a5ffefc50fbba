"""The webhooks of an organisation, in the order they were made."""

from collections.abc import Iterable
from datetime import datetime
from typing import Final, Literal, TypeAlias
from uuid import UUID

import msgspec
from psycopg import AsyncConnection
from psycopg.rows import class_row

from service.store.arrays import Texts

WebhookState: TypeAlias = Literal["active", "paused", "disabled"]
WebhookReason: TypeAlias = Literal["failing", "gone", "key-ended", "secret-lost", "site-unseen"]

WEBHOOKS: Final = """
SELECT w.id, w.version, w.key, w.sites, w.url, w.purpose, w.kinds, w.site, w.subject, w.state, w.reason, w.salt,
    w.mark, w.old_salts, w.old_untils, w.created_at, w.passed, w.failures, w.failing_since, w.rests_until,
    w.delivered_at,
    (SELECT count(*) FROM ledger.webhook_delivery d
        WHERE d.organisation = w.organisation AND d.webhook = w.id AND d.state = 'waiting') AS waiting,
    (SELECT count(*) FROM ledger.webhook_delivery d
        WHERE d.organisation = w.organisation AND d.webhook = w.id AND d.state = 'dead') AS dead
FROM ledger.webhook w
WHERE w.organisation = %(organisation)s
    AND (%(id)s::uuid IS NULL OR w.id = %(id)s)
    AND (%(sites)s::text[] IS NULL OR w.sites <@ %(sites)s::text[])
    AND (%(after)s::timestamptz IS NULL OR (w.created_at, w.id) > (%(after)s, %(after_id)s::uuid))
ORDER BY w.created_at, w.id
LIMIT %(limit)s
"""


class Webhook(msgspec.Struct, frozen=True, kw_only=True):
    """A webhook; `sites` None may see all of them. `waiting` and `dead` count deliveries."""

    id: UUID
    version: int
    key: UUID
    sites: list[str] | None
    url: str
    purpose: str | None
    kinds: list[str] | None
    site: str | None
    subject: str | None
    state: WebhookState
    reason: WebhookReason | None
    salt: bytes
    mark: bytes
    old_salts: list[bytes]
    old_untils: list[datetime]
    created_at: datetime
    passed: int
    failures: int
    failing_since: datetime | None
    rests_until: datetime | None
    delivered_at: datetime | None
    waiting: int
    dead: int


async def webhooks(
    conn: AsyncConnection,
    organisation: UUID,
    *,
    sites: Iterable[str] | None,
    after: tuple[datetime, UUID] | None = None,
    one: UUID | None = None,
    limit: int = 1,
) -> list[Webhook]:
    """Give at most `limit` webhooks past (created_at, id), or the one of an id, that see nothing beyond the sites."""
    parameters = {
        "organisation": organisation,
        "id": one,
        "sites": None if sites is None else Texts(sites),
        "after": after and after[0],
        "after_id": after and after[1],
        "limit": limit,
    }
    async with conn.cursor(row_factory=class_row(Webhook)) as cursor:
        await cursor.execute(WEBHOOKS, parameters)
        return await cursor.fetchall()
