"""The subjects that events are filed under and that lie between two others."""

from collections.abc import AsyncIterator
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

SUBJECTS_BETWEEN: Final = """
SELECT DISTINCT s.subject FROM ledger.event_subject s
WHERE s.organisation = %(organisation)s AND s.subject > %(after)s AND s.subject < %(end)s AND s.seq > %(after_seq)s
ORDER BY s.subject
LIMIT %(limit)s
"""
PAGE = 10_000


async def subjects_between(
    conn: AsyncConnection, organisation: UUID, after: str, end: str, *, after_seq: int = 0
) -> AsyncIterator[list[str]]:
    """Give the subjects of events past `after_seq` that come after one and before another, a page at a time."""
    asked = {"organisation": organisation, "after": after, "end": end, "after_seq": after_seq, "limit": PAGE}
    while True:
        cursor = await conn.execute(SUBJECTS_BETWEEN, asked)
        found = [subject for (subject,) in await cursor.fetchall()]
        if found:
            yield found
        if len(found) < PAGE:
            return
        asked["after"] = found[-1]
