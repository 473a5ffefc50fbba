"""The feed of one subject, found by what events are filed under. That is settled when an event is recorded."""

from collections.abc import Iterable
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

from service.store.arrays import Texts
from service.store.stored import Stored, read_stored

# The inner list is small and in order, so that no more events are read than a page takes: OFFSET 0 keeps it apart.
FEED_OF_SUBJECT: Final = """
SELECT e.organisation, e.seq, e.kind, e.kind_version, e.received_at, e.recorded_at, e.sent_at, e.key, e.imported,
    e.body, e.conflicts
FROM (
    SELECT DISTINCT s.seq FROM ledger.event_subject s
    WHERE s.organisation = %(organisation)s AND s.subject = %(subject)s AND s.seq > %(after)s AND s.seq <= %(until)s
    ORDER BY s.seq
    OFFSET 0) filed
JOIN ledger.event e ON e.organisation = %(organisation)s AND e.seq = filed.seq
WHERE (%(kind)s::text IS NULL OR e.kind = %(kind)s)
    AND (%(sites)s::text[] IS NULL OR e.site = ANY (%(sites)s::text[]))
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
    kind: str | None = None,
    sites: Iterable[str] | None = None,
) -> list[Stored]:
    """Give at most `limit` events about it past `after`, up to and including `until`; None asks nothing."""
    asked = {"organisation": organisation, "subject": subject, "after": after, "until": until, "limit": limit}
    narrowed = {"kind": kind, "sites": None if sites is None else Texts(sites)}
    return await read_stored(conn, FEED_OF_SUBJECT, asked | narrowed)
