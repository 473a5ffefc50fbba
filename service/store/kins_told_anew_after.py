"""Find the kins of which, past a number, something was taken back, or was said as what a tag is known by."""

from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

KINS_TOLD_ANEW_AFTER: Final = """
SELECT DISTINCT h.kin
FROM ledger.event_subject s
    JOIN ledger.event e ON e.organisation = s.organisation AND e.seq = s.seq
    JOIN ledger.kinship h ON h.organisation = s.organisation AND h.tag = substr(s.subject, 7)
WHERE s.organisation = %(organisation)s AND s.seq > %(seq)s AND s.subject LIKE 'asset:%%'
    AND e.kind IN ('voided', 'registered')
"""


async def kins_told_anew_after(conn: AsyncConnection, organisation: UUID, seq: int) -> set[str]:
    """Give the names of the kins with a voiding, a registration or a new tag recorded past `seq`."""
    cursor = await conn.execute(KINS_TOLD_ANEW_AFTER, {"organisation": organisation, "seq": seq})
    return {kin for (kin,) in await cursor.fetchall()}
