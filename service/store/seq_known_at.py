"""What was known at a moment: the largest seq recorded by then."""

from datetime import datetime
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

SEQ_KNOWN_AT: Final = "SELECT ledger.seq_known_at(%(organisation)s::uuid, %(moment)s::timestamptz)"


async def seq_known_at(conn: AsyncConnection, organisation: UUID, moment: datetime) -> int:
    """Give the largest seq with recorded_at at or before the moment, 0 where there is none."""
    cursor = await conn.execute(SEQ_KNOWN_AT, {"organisation": organisation, "moment": moment})
    row = await cursor.fetchone()
    return 0 if row is None or row[0] is None else int(row[0])
