"""Find bad news whose device's counter is contradicted by what was recorded past a number.

What bad news a device's counter can speak against is filed under "adverse:" and the device.
"""

from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

from service.domain.recorded import Recorded
from service.store.stored import read_recorded

CONTRADICTED_AFTER: Final = """
SELECT organisation, seq, kind, kind_version, received_at, recorded_at, sent_at, key, imported, body
FROM ledger.event e
WHERE e.organisation = %(organisation)s AND e.seq <= %(seq)s
    AND e.seq IN (
        SELECT s.seq FROM ledger.event_subject s
        WHERE s.organisation = %(organisation)s AND s.subject >= 'adverse:' AND s.subject < 'adverse;')
    AND (EXISTS (
            SELECT FROM ledger.event x
            WHERE x.organisation = e.organisation AND x.device = e.device AND x.seq > %(seq)s
                AND x.device_seq < e.device_seq AND x.instant > e.instant)
        OR EXISTS (
            SELECT FROM ledger.event x
            WHERE x.organisation = e.organisation AND x.device = e.device AND x.seq > %(seq)s
                AND x.device_seq > e.device_seq AND x.instant < e.instant))
ORDER BY seq
"""


async def contradicted_after(conn: AsyncConnection, organisation: UUID, seq: int) -> list[Recorded]:
    """Give the bad news up to the number that a later event stands the other way round to, by however little."""
    return await read_recorded(conn, CONTRADICTED_AFTER, {"organisation": organisation, "seq": seq})
