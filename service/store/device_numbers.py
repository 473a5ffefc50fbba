"""Every number that devices gave their events, each with its moment."""

from collections.abc import Iterable
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

from service.domain.counting import Numbered
from service.store.arrays import Texts

DEVICE_NUMBERS: Final = """
SELECT e.device, e.device_seq, e.instant, e.seq
FROM ledger.event e
WHERE e.organisation = %(organisation)s AND e.device = ANY (%(devices)s::text[]) AND e.device_seq IS NOT NULL
    AND e.seq <= %(until)s
"""


async def device_numbers(
    conn: AsyncConnection, organisation: UUID, devices: Iterable[str], *, until: int
) -> dict[str, list[Numbered]]:
    """Give the numbers of devices by their events up to a seq, in no order."""
    cursor = await conn.execute(
        DEVICE_NUMBERS, {"organisation": organisation, "devices": Texts(devices), "until": until}
    )
    found: dict[str, list[Numbered]] = {}
    for device, *numbered in await cursor.fetchall():
        found.setdefault(device, []).append(Numbered(*numbered))
    return found
