"""The kins of units whose events are filed under any of some subjects."""

from collections.abc import Iterable
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

from service.store.arrays import Texts

# Of a thousand subjects the planner would rather read those of all units; one by one they are found by the index.
KINS_FILED_UNDER: Final = """
SELECT DISTINCT h.kin
FROM unnest(%(subjects)s::text[]) w (subject)
    CROSS JOIN LATERAL (
        SELECT seq FROM ledger.event_subject
        WHERE organisation = %(organisation)s AND subject = w.subject AND seq > %(after_seq)s OFFSET 0) s
    CROSS JOIN LATERAL (
        SELECT substr(subject, 7) AS tag FROM ledger.event_subject
        WHERE organisation = %(organisation)s AND seq = s.seq AND subject LIKE 'asset:%%' OFFSET 0) a
    CROSS JOIN LATERAL (
        SELECT kin FROM ledger.kinship WHERE organisation = %(organisation)s AND tag = a.tag OFFSET 0) h
ORDER BY h.kin
"""


async def kins_filed_under(
    conn: AsyncConnection, organisation: UUID, subjects: Iterable[str], *, after_seq: int = 0
) -> list[str]:
    """Give the names of the kins with such an event past `after_seq`."""
    asked = {"organisation": organisation, "subjects": Texts(subjects), "after_seq": after_seq}
    cursor = await conn.execute(KINS_FILED_UNDER, asked)
    return [kin for (kin,) in await cursor.fetchall()]
