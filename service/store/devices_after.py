"""The devices that recorded something past a number."""

from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

DEVICES_AFTER: Final = """
SELECT DISTINCT device FROM ledger.event
WHERE organisation = %(organisation)s AND seq > %(seq)s AND device IS NOT NULL AND device_seq IS NOT NULL
ORDER BY device
"""


async def devices_after(conn: AsyncConnection, organisation: UUID, seq: int) -> list[str]:
    """Give the devices with counted events past the number."""
    cursor = await conn.execute(DEVICES_AFTER, {"organisation": organisation, "seq": seq})
    return [row[0] for row in await cursor.fetchall()]
