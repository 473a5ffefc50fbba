"""The kins of units whose events are filed under any of some subjects."""

from collections.abc import Iterable
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

from service.store.arrays import Texts

KINS_FILED_UNDER: Final = """
SELECT DISTINCT h.kin
FROM ledger.event_subject s
    JOIN ledger.event_subject a ON a.organisation = s.organisation AND a.seq = s.seq AND a.subject LIKE 'asset:%%'
    JOIN ledger.kinship h ON h.organisation = s.organisation AND h.tag = substr(a.subject, 7)
WHERE s.organisation = %(organisation)s AND s.subject = ANY (%(subjects)s::text[]) AND s.seq > %(after_seq)s
ORDER BY h.kin
"""


async def kins_filed_under(
    conn: AsyncConnection, organisation: UUID, subjects: Iterable[str], *, after_seq: int = 0
) -> list[str]:
    """Give the names of the kins with such an event past `after_seq`."""
    asked = {"organisation": organisation, "subjects": Texts(subjects), "after_seq": after_seq}
    cursor = await conn.execute(KINS_FILED_UNDER, asked)
    return [kin for (kin,) in await cursor.fetchall()]
