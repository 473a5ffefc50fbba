"""Bad news of devices that something newly heard of them may contradict, by clock or by counter."""

from collections.abc import Sequence
from datetime import datetime
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

from service.domain.recorded import Recorded
from service.store.arrays import Bigints, Instants, Texts
from service.store.stored import read_recorded

ADVERSE_OUT_OF_LINE: Final = """
WITH spoken AS MATERIALIZED (
    SELECT * FROM unnest(%(devices)s::text[], %(numbers)s::bigint[], %(instants)s::timestamptz[])
        s (device, number, instant)
), device AS MATERIALIZED (
    SELECT s.device, 'adverse:' || s.device AS subject, min(s.number) AS lowest, min(s.instant) AS earliest
    FROM spoken s GROUP BY s.device
)
SELECT organisation, seq, kind, kind_version, received_at, recorded_at, sent_at, key, imported, body
FROM ledger.event
WHERE organisation = %(organisation)s AND seq IN (
    SELECT e.seq
    FROM device d
    JOIN ledger.event_subject b ON b.organisation = %(organisation)s AND b.subject = d.subject
        AND b.instant > d.earliest
    JOIN ledger.event e ON e.organisation = b.organisation AND e.seq = b.seq
    WHERE EXISTS (
        SELECT FROM spoken s WHERE s.device = d.device AND s.number > e.device_seq AND s.instant < e.instant)
    UNION
    SELECT l.seq
    FROM device d
    JOIN LATERAL (
        SELECT e.seq, e.instant FROM ledger.event e
        WHERE e.organisation = %(organisation)s AND e.device = d.device AND e.device_seq > d.lowest AND EXISTS (
            SELECT FROM spoken s WHERE s.device = d.device AND s.number < e.device_seq AND s.instant > e.instant)
        OFFSET 0
    ) l ON true
    JOIN ledger.event_subject b ON b.organisation = %(organisation)s AND b.subject = d.subject
        AND b.instant = l.instant AND b.seq = l.seq)
ORDER BY seq
"""


async def adverse_out_of_line(
    conn: AsyncConnection, organisation: UUID, spoken: Sequence[tuple[str, int, datetime]]
) -> list[Recorded]:
    """Give the bad news of devices that is out of line with what they speak now: device, its number, and the instant.

    What is out of line is looked for first, and only then whether it is bad news: of a device in order there is none.
    Under row security an index is only asked for what is ready before: hence the subject of each device.
    """
    return await read_recorded(
        conn,
        ADVERSE_OUT_OF_LINE,
        {
            "organisation": organisation,
            "devices": Texts(device for device, _, _ in spoken),
            "numbers": Bigints(number for _, number, _ in spoken),
            "instants": Instants(instant for _, _, instant in spoken),
        },
    )
