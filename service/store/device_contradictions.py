"""Compare an event's clock with its device's own counter."""

from datetime import datetime, timedelta
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

DEVICE_CONTRADICTIONS: Final = """
SELECT EXISTS (
    SELECT FROM ledger.event e
    WHERE e.organisation = %(organisation)s AND e.device = %(device)s AND e.device_seq < %(device_seq)s
        AND e.instant > %(instant)s::timestamptz + %(tolerance)s::interval AND e.seq <= %(known_seq)s
) OR EXISTS (
    SELECT FROM ledger.event e
    WHERE e.organisation = %(organisation)s AND e.device = %(device)s AND e.device_seq > %(device_seq)s
        AND e.instant < %(instant)s::timestamptz - %(tolerance)s::interval AND e.seq <= %(known_seq)s
)
"""


async def device_contradictions(
    conn: AsyncConnection,
    organisation: UUID,
    *,
    device: str,
    device_seq: int,
    instant: datetime,
    tolerance: timedelta,
    known_seq: int,
) -> bool:
    """Say whether another event of the device, known by then, stands the other way round by more than the tolerance."""
    cursor = await conn.execute(
        DEVICE_CONTRADICTIONS,
        {
            "organisation": organisation,
            "device": device,
            "device_seq": device_seq,
            "instant": instant,
            "tolerance": tolerance,
            "known_seq": known_seq,
        },
    )
    row = await cursor.fetchone()
    return row is not None and row[0] is True
