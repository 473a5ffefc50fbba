"""The subjects that begin in some ways, a page at a time, found by leaps: however many events there are of each."""

from collections.abc import Iterable
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

from service.store.arrays import Texts

# Each step reads the next subject off the index and passes over all its events.
SUBJECTS_AFTER: Final = """
WITH RECURSIVE found (subject, many) AS (
    SELECT %(after)s::text COLLATE "C", 0
    UNION ALL
    SELECT n.subject, f.many + 1
    FROM found f
    CROSS JOIN LATERAL (
        SELECT s.subject
        FROM unnest(%(beginnings)s::text[], %(ends)s::text[]) w (beginning, ending)
            CROSS JOIN LATERAL (
                SELECT s.subject FROM ledger.event_subject s
                WHERE s.organisation = %(organisation)s
                    AND s.subject >= w.beginning AND s.subject > f.subject AND s.subject < w.ending
                ORDER BY s.subject
                LIMIT 1) s
        ORDER BY s.subject
        LIMIT 1) n
    WHERE f.many < %(limit)s
)
SELECT subject FROM found WHERE many > 0 ORDER BY subject
"""


async def subjects_after(
    conn: AsyncConnection, organisation: UUID, beginnings: Iterable[str], *, after: str, limit: int
) -> list[str]:
    """Give at most `limit` subjects past `after`, in order, of those that begin in one of some ways."""
    told = sorted(beginnings)
    asked = {
        "organisation": organisation,
        "beginnings": Texts(told),
        "ends": Texts(one[:-1] + chr(ord(one[-1]) + 1) for one in told),
        "after": after,
        "limit": limit,
    }
    cursor = await conn.execute(SUBJECTS_AFTER, asked)
    return [subject for (subject,) in await cursor.fetchall()]
