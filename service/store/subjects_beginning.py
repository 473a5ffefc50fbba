"""The subjects that events are filed under and that begin in one way."""

from collections.abc import AsyncIterator
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

SUBJECTS_BEGINNING: Final = """
SELECT DISTINCT s.subject FROM ledger.event_subject s
WHERE s.organisation = %(organisation)s AND s.subject > %(after)s AND s.subject < %(end)s AND s.seq > %(after_seq)s
ORDER BY s.subject
LIMIT %(limit)s
"""
PAGE = 10_000


async def subjects_beginning(
    conn: AsyncConnection, organisation: UUID, beginning: str, *, after_seq: int = 0
) -> AsyncIterator[list[str]]:
    """Give the subjects of events past `after_seq` that begin so, in order, a page at a time."""
    end = beginning[:-1] + chr(ord(beginning[-1]) + 1)
    asked = {"organisation": organisation, "after": beginning, "end": end, "after_seq": after_seq, "limit": PAGE}
    while True:
        cursor = await conn.execute(SUBJECTS_BEGINNING, asked)
        found = [subject for (subject,) in await cursor.fetchall()]
        if found:
            yield found
        if len(found) < PAGE:
            return
        asked["after"] = found[-1]
