"""The items or models that events left traces of, found by leaps: however many traces there are of one."""

from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

# What follows a ref is a colon, and the semicolon is the next character: the leap is over all traces of one ref.
REFS_TRACED: Final = """
WITH RECURSIVE found (ref) AS (
    (SELECT split_part(s.subject, ':', 2) FROM ledger.event_subject s
    WHERE s.organisation = %(organisation)s AND s.subject > %(sort)s || ':' AND s.subject < %(sort)s || ';'
    ORDER BY s.subject LIMIT 1)
    UNION ALL
    SELECT (
        SELECT split_part(s.subject, ':', 2) FROM ledger.event_subject s
        WHERE s.organisation = %(organisation)s AND s.subject > %(sort)s || ':' || f.ref || ';'
            AND s.subject < %(sort)s || ';'
        ORDER BY s.subject LIMIT 1)
    FROM found f WHERE f.ref IS NOT NULL)
SELECT ref FROM found WHERE ref IS NOT NULL
"""


async def refs_traced(conn: AsyncConnection, organisation: UUID, sort: str) -> list[str]:
    """Give the refs of all traces of a sort ("part", "unit", "stock"), in order."""
    cursor = await conn.execute(REFS_TRACED, {"organisation": organisation, "sort": sort})
    return [ref for (ref,) in await cursor.fetchall()]
