"""The feed of some events: of some kinds, of sites, in a stretch of the log that is looked through whole."""

from collections.abc import Iterable
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

from service.store.arrays import Texts
from service.store.stored import Stored, read_stored

FEED_OF: Final = """
SELECT organisation, seq, kind, kind_version, received_at, recorded_at, sent_at, key, imported, body, conflicts
FROM ledger.event
WHERE organisation = %(organisation)s AND seq > %(after)s AND seq <= %(until)s
    AND (%(kinds)s::text[] IS NULL OR kind = ANY (%(kinds)s::text[]))
    AND (%(sites)s::text[] IS NULL OR site = ANY (%(sites)s::text[]))
ORDER BY seq
LIMIT %(limit)s
"""


async def feed_of(
    conn: AsyncConnection,
    organisation: UUID,
    *,
    after: int,
    until: int,
    limit: int,
    kinds: Iterable[str] | None = None,
    sites: Iterable[str] | None = None,
) -> list[Stored]:
    """Give at most `limit` such events past `after`, up to and including `until`; None asks nothing."""
    asked = {"organisation": organisation, "after": after, "until": until, "limit": limit}
    narrowed = {
        "kinds": None if kinds is None else Texts(kinds),
        "sites": None if sites is None else Texts(sites),
    }
    return await read_stored(conn, FEED_OF, asked | narrowed)
