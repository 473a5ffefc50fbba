"""Find the stored events whose clock a new event of the same device contradicts."""

from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

from service.domain.recorded import Recorded
from service.store.arrays import Texts
from service.store.stored import read_recorded

CONTRADICTED_BY_DEVICE: Final = """
SELECT organisation, seq, kind, kind_version, received_at, recorded_at, sent_at, key, imported, body
FROM ledger.event e
WHERE e.organisation = %(organisation)s AND e.device = %(device)s AND e.device_seq < %(device_seq)s
    AND e.instant > %(instant)s::timestamptz + %(tolerance)s::interval AND e.kind = ANY (%(kinds)s::text[])
UNION ALL
SELECT organisation, seq, kind, kind_version, received_at, recorded_at, sent_at, key, imported, body
FROM ledger.event e
WHERE e.organisation = %(organisation)s AND e.device = %(device)s AND e.device_seq > %(device_seq)s
    AND e.instant < %(instant)s::timestamptz - %(tolerance)s::interval AND e.kind = ANY (%(kinds)s::text[])
ORDER BY seq
"""


async def contradicted_by_device(
    conn: AsyncConnection,
    organisation: UUID,
    *,
    device: str,
    device_seq: int,
    instant: datetime,
    tolerance: timedelta,
    kinds: Iterable[str],
) -> list[Recorded]:
    """Give the events of these kinds that the counter puts on the other side, by more than the tolerance."""
    return await read_recorded(
        conn,
        CONTRADICTED_BY_DEVICE,
        {
            "organisation": organisation,
            "device": device,
            "device_seq": device_seq,
            "instant": instant,
            "tolerance": tolerance,
            "kinds": Texts(kinds),
        },
    )
