"""The newest version of something that is defined by events."""

from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

NEWEST_OF_SUBJECT: Final = """
SELECT max(e.seq) FROM ledger.event e
WHERE e.organisation = %(organisation)s AND e.kind = %(kind)s AND e.seq IN (
    SELECT s.seq FROM ledger.event_subject s
    WHERE s.organisation = %(organisation)s AND s.subject = %(subject)s)
"""


async def newest_of_subject(conn: AsyncConnection, organisation: UUID, subject: str, kind: str) -> int | None:
    """Give the seq of the newest event of a kind about a subject, None where there is none."""
    cursor = await conn.execute(NEWEST_OF_SUBJECT, {"organisation": organisation, "subject": subject, "kind": kind})
    row = await cursor.fetchone()
    return None if row is None else row[0]
