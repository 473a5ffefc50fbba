"""The shelves of stock that events of a stretch of the log tell of, those that they take back included."""

from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

# A voiding is filed under the event it names, which may be a voiding itself: it touches what that one told of.
SHELVES_TOUCHED: Final = """
WITH RECURSIVE spoken (seq, told) AS (
    SELECT s.seq, s.seq FROM ledger.event_subject s
    WHERE s.organisation = %(organisation)s AND s.seq > %(after)s AND s.seq <= %(until)s
    UNION
    SELECT e.seq, p.told
    FROM spoken p
        JOIN ledger.event_subject v
            ON v.organisation = %(organisation)s AND v.seq = p.seq AND v.subject LIKE 'event:%%'
        JOIN ledger.event e
            ON e.organisation = %(organisation)s AND e.id = substr(v.subject, length('event:') + 1)::uuid)
SELECT s.subject, max(p.told)
FROM spoken p
    JOIN ledger.event_subject s ON s.organisation = %(organisation)s AND s.seq = p.seq
WHERE s.subject LIKE 'shelf:%%' OR s.subject LIKE 'fitted:%%' OR s.subject LIKE 'adrift:%%'
GROUP BY s.subject
"""


async def shelves_touched(conn: AsyncConnection, organisation: UUID, *, after: int, until: int) -> dict[str, int]:
    """Give the subjects of shelves that events in (after, until] touch, each with the seq of the last that does."""
    cursor = await conn.execute(SHELVES_TOUCHED, {"organisation": organisation, "after": after, "until": until})
    return dict(await cursor.fetchall())
