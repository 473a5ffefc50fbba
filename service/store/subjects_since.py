"""The subjects that events past a number are filed under."""

from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

SUBJECTS_SINCE: Final = """
SELECT DISTINCT subject FROM ledger.event_subject
WHERE organisation = %(organisation)s AND seq > %(after_seq)s
"""


async def subjects_since(conn: AsyncConnection, organisation: UUID, after_seq: int) -> list[str]:
    """Give the subjects of the events past `after_seq`."""
    cursor = await conn.execute(SUBJECTS_SINCE, {"organisation": organisation, "after_seq": after_seq})
    return [subject for (subject,) in await cursor.fetchall()]
