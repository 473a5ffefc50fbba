"""The gaps in the numbers of devices that have counted without a repeat or a reset, the highest first."""

from collections.abc import Iterable
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

from service.domain.counting import Gap
from service.store.arrays import Texts

DEVICE_GAPS: Final = """
SELECT d.device, g.number + 1, g.next - 1
FROM unnest(%(devices)s::text[]) WITH ORDINALITY d (device, nth)
CROSS JOIN LATERAL (
    SELECT n.number, n.next
    FROM (
        SELECT e.device_seq AS number, lead(e.device_seq) OVER (ORDER BY e.device_seq) AS next
        FROM ledger.event e
        WHERE e.organisation = %(organisation)s AND e.device = d.device AND e.device_seq IS NOT NULL
            AND e.seq <= %(until)s) n
    WHERE n.next - 1 > n.number
    ORDER BY n.number DESC
    LIMIT %(limit)s) g
ORDER BY d.nth, g.number DESC
"""


async def device_gaps(
    conn: AsyncConnection, organisation: UUID, devices: Iterable[str], *, until: int, limit: int
) -> dict[str, list[Gap]]:
    """Give at most `limit` gaps of each device that has any, by its events up to a seq."""
    asked = {"organisation": organisation, "devices": Texts(devices), "until": until, "limit": limit}
    cursor = await conn.execute(DEVICE_GAPS, asked)
    found: dict[str, list[Gap]] = {}
    for device, first, last in await cursor.fetchall():
        found.setdefault(device, []).append(Gap(first, last))
    return found
