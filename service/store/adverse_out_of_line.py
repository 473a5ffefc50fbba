"""Bad news of a device that something newly heard of it may contradict, by clock or by counter."""

from datetime import datetime
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

from service.domain.recorded import Recorded
from service.store.stored import read_recorded

ADVERSE_OUT_OF_LINE: Final = """
SELECT organisation, seq, kind, kind_version, received_at, recorded_at, sent_at, key, imported, body
FROM ledger.event
WHERE organisation = %(organisation)s AND seq IN (
    SELECT s.seq FROM ledger.event_subject s
    WHERE s.organisation = %(organisation)s AND s.subject = %(subject)s AND s.instant > %(earliest)s::timestamptz
    UNION
    SELECT e.seq FROM ledger.event e
    JOIN ledger.event_subject s
        ON s.organisation = e.organisation AND s.subject = %(subject)s AND s.instant = e.instant AND s.seq = e.seq
    WHERE e.organisation = %(organisation)s AND e.device = %(device)s AND e.device_seq > %(lowest)s)
ORDER BY seq
"""


async def adverse_out_of_line(
    conn: AsyncConnection, organisation: UUID, *, device: str, earliest: datetime, lowest: int
) -> list[Recorded]:
    """Give the device's bad news dated after `earliest` or numbered above `lowest`: no other can be contradicted."""
    return await read_recorded(
        conn,
        ADVERSE_OUT_OF_LINE,
        {
            "organisation": organisation,
            "subject": f"adverse:{device}",
            "device": device,
            "earliest": earliest,
            "lowest": lowest,
        },
    )
