"""Walk through all kins by name, a page at a time."""

from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

ALL_KINS: Final = """
SELECT kin FROM ledger.kin
WHERE organisation = %(organisation)s AND kin > %(after)s
ORDER BY kin
LIMIT %(limit)s
"""


async def all_kins(conn: AsyncConnection, organisation: UUID, *, after: str = "", limit: int = 1000) -> list[str]:
    """Give the next names past `after`."""
    cursor = await conn.execute(ALL_KINS, {"organisation": organisation, "after": after, "limit": limit})
    return [kin for (kin,) in await cursor.fetchall()]
