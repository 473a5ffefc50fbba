"""The subjects that begin in one way, found by leaps: few of them, under each of which many events are filed."""

from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

SUBJECTS_APART: Final = """
WITH RECURSIVE found (subject) AS (
    (SELECT s.subject FROM ledger.event_subject s
    WHERE s.organisation = %(organisation)s AND s.subject > %(after)s AND s.subject < %(end)s
    ORDER BY s.subject LIMIT 1)
    UNION ALL
    SELECT (
        SELECT s.subject FROM ledger.event_subject s
        WHERE s.organisation = %(organisation)s AND s.subject > f.subject AND s.subject < %(end)s
        ORDER BY s.subject LIMIT 1)
    FROM found f WHERE f.subject IS NOT NULL)
SELECT subject FROM found WHERE subject IS NOT NULL
"""


async def subjects_apart(conn: AsyncConnection, organisation: UUID, beginning: str) -> list[str]:
    """Give the subjects that begin so, in order."""
    end = beginning[:-1] + chr(ord(beginning[-1]) + 1)
    cursor = await conn.execute(SUBJECTS_APART, {"organisation": organisation, "after": beginning, "end": end})
    return [subject for (subject,) in await cursor.fetchall()]
