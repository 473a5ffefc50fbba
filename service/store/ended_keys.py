"""Which of some keys have ended: revoked, or past the moment they were made for."""

from collections.abc import Iterable
from datetime import datetime
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

from service.store.arrays import Uuids

ENDED_KEYS: Final = """
SELECT id FROM ledger.api_key
WHERE organisation = %(organisation)s AND id = ANY (%(keys)s::uuid[])
    AND (revoked_at IS NOT NULL OR expires_at <= %(now)s::timestamptz)
"""


async def ended_keys(conn: AsyncConnection, organisation: UUID, keys: Iterable[UUID], now: datetime) -> set[UUID]:
    """Name those of the keys that are not valid at the moment any more."""
    cursor = await conn.execute(ENDED_KEYS, {"organisation": organisation, "keys": Uuids(keys), "now": now})
    return {row[0] for row in await cursor.fetchall()}
