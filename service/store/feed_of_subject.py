"""The feed of one subject, found by what events are filed under. That is settled when an event is recorded."""

from collections.abc import Iterable
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

from service.store.arrays import Texts
from service.store.stored import Stored, read_stored

# OFFSET 0 keeps each part as it stands: what is filed is put in order first, and its events are then looked up one by
# one until there are enough. Joined as the planner likes, the log was read from its beginning instead.
FEED_OF_SUBJECT: Final = """
SELECT e.*
FROM (
    SELECT DISTINCT s.seq FROM ledger.event_subject s
    WHERE s.organisation = %(organisation)s AND s.subject = %(subject)s AND s.seq > %(after)s AND s.seq <= %(until)s
    ORDER BY s.seq
    OFFSET 0) filed
CROSS JOIN LATERAL (
    SELECT organisation, seq, kind, kind_version, received_at, recorded_at, sent_at, key, imported, body, conflicts
    FROM ledger.event
    WHERE organisation = %(organisation)s AND seq = filed.seq
        AND (%(kinds)s::text[] IS NULL OR kind = ANY (%(kinds)s::text[]))
        AND (%(sites)s::text[] IS NULL OR site = ANY (%(sites)s::text[]))
    OFFSET 0) e
ORDER BY filed.seq
LIMIT %(limit)s
"""


async def feed_of_subject(
    conn: AsyncConnection,
    organisation: UUID,
    subject: str,
    *,
    after: int,
    until: int,
    limit: int,
    kinds: Iterable[str] | None = None,
    sites: Iterable[str] | None = None,
) -> list[Stored]:
    """Give at most `limit` events about it past `after`, up to and including `until`; None asks nothing."""
    asked = {"organisation": organisation, "subject": subject, "after": after, "until": until, "limit": limit}
    narrowed = {
        "kinds": None if kinds is None else Texts(kinds),
        "sites": None if sites is None else Texts(sites),
    }
    return await read_stored(conn, FEED_OF_SUBJECT, asked | narrowed)
