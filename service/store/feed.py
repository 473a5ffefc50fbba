"""The feed: events in the order they were committed. Seq is gap-free in that order, so it is a safe cursor."""

from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

from service.store.stored import Stored, read_stored

FEED: Final = """
SELECT organisation, seq, kind, kind_version, received_at, recorded_at, sent_at, key, imported, body, conflicts
FROM ledger.event
WHERE organisation = %(organisation)s AND seq > %(after)s
    AND (%(until)s::bigint IS NULL OR seq <= %(until)s)
ORDER BY seq
LIMIT %(limit)s
"""


async def feed(
    conn: AsyncConnection, organisation: UUID, *, after: int, limit: int, until: int | None = None
) -> list[Stored]:
    """Give at most `limit` events past `after`, up to and including `until`."""
    return await read_stored(conn, FEED, {"organisation": organisation, "after": after, "until": until, "limit": limit})
