"""Find the kins that have events past a number: whose stored standing says more than was known then."""

from datetime import datetime
from typing import Final
from uuid import UUID

import msgspec
from psycopg import AsyncConnection
from psycopg.rows import class_row

KINS_TOUCHED_AFTER: Final = """
SELECT h.kin, min(s.instant) AS earliest, bool_or(e.kind = 'voided') AS voided
FROM ledger.event_subject s
    JOIN ledger.event e ON e.organisation = s.organisation AND e.seq = s.seq
    JOIN ledger.kinship h ON h.organisation = s.organisation AND h.tag = substr(s.subject, 7)
WHERE s.organisation = %(organisation)s AND s.seq > %(seq)s AND s.subject LIKE 'asset:%%'
GROUP BY h.kin
ORDER BY h.kin
"""


class TouchedKin(msgspec.Struct, frozen=True):
    """A kin with later events: the earliest moment one of them takes its place at, and whether one is a voiding."""

    kin: str
    earliest: datetime
    voided: bool


async def kins_touched_after(conn: AsyncConnection, organisation: UUID, seq: int) -> list[TouchedKin]:
    """Give the kins with events recorded past `seq`, by name."""
    async with conn.cursor(row_factory=class_row(TouchedKin)) as cursor:
        await cursor.execute(KINS_TOUCHED_AFTER, {"organisation": organisation, "seq": seq})
        return await cursor.fetchall()
