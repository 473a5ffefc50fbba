"""Which of some subjects any event is filed under."""

from collections.abc import Iterable
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

from service.store.arrays import Texts

SUBJECTS_KNOWN: Final = """
SELECT w.subject
FROM unnest(%(subjects)s::text[]) w (subject)
WHERE EXISTS (
    SELECT FROM ledger.event_subject s
    WHERE s.organisation = %(organisation)s AND s.subject = w.subject COLLATE "C")
ORDER BY w.subject COLLATE "C"
"""


async def subjects_known(conn: AsyncConnection, organisation: UUID, subjects: Iterable[str]) -> list[str]:
    """Give those under which there are events, in order."""
    cursor = await conn.execute(SUBJECTS_KNOWN, {"organisation": organisation, "subjects": Texts(subjects)})
    return [subject for (subject,) in await cursor.fetchall()]
