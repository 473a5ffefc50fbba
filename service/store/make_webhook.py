"""Store a new webhook, unless its id is taken or there are too many."""

from collections.abc import Iterable
from datetime import datetime
from typing import Final
from uuid import UUID

import msgspec
from psycopg import AsyncConnection

from service.domain.webhook import Wish
from service.store.arrays import Texts
from service.store.change_webhook import columns_of

MAKE_WEBHOOK: Final = """
INSERT INTO ledger.webhook (
    organisation, id, version, key, sites, url, purpose, kinds, site, subject, state, salt, mark, created_at, passed)
SELECT %(organisation)s, %(id)s, %(version)s, %(key)s, %(sites)s::text[], %(url)s, %(purpose)s,
    %(kinds)s::text[], %(site)s, %(subject)s, %(state)s, %(salt)s, %(mark)s, %(created_at)s,
    least(%(passed)s::bigint, h.last_seq)
FROM ledger.head h
WHERE h.organisation = %(organisation)s
    AND (SELECT count(*) FROM ledger.webhook w WHERE w.organisation = %(organisation)s) < %(most)s
ON CONFLICT ON CONSTRAINT webhook_pk DO NOTHING
"""


class NewWebhook(msgspec.Struct, frozen=True, kw_only=True):
    """A webhook to be stored; its version is none that another of its id ever had.

    What was recorded after `passed` is sent; it is never ahead of the log.
    """

    id: UUID
    version: int
    key: UUID
    sites: Iterable[str] | None
    wish: Wish
    salt: bytes
    mark: bytes
    created_at: datetime
    passed: int


async def make_webhook(conn: AsyncConnection, organisation: UUID, new: NewWebhook, most: int) -> bool:
    """Store the webhook; False where its id is taken, or there are `most` webhooks already."""
    parameters = msgspec.structs.asdict(new) | columns_of(new.wish)
    del parameters["wish"]
    parameters |= {"sites": None if new.sites is None else Texts(sorted(new.sites))}
    parameters |= {"organisation": organisation, "most": most}
    return (await conn.execute(MAKE_WEBHOOK, parameters)).rowcount == 1
