"""What kins asked for, of all that begins in one way, and which kin asked."""

from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

REFS_DEPENDED_ON: Final = """
SELECT ref, kin FROM ledger.dependency
WHERE organisation = %(organisation)s AND ref >= %(beginning)s AND ref < %(end)s
ORDER BY ref, kin
"""


async def refs_depended_on(conn: AsyncConnection, organisation: UUID, beginning: str) -> list[tuple[str, str]]:
    """Give the references that begin so, in order, each with a kin whose judgement asked for it, found or not."""
    end = beginning[:-1] + chr(ord(beginning[-1]) + 1)
    asked = {"organisation": organisation, "beginning": beginning, "end": end}
    cursor = await conn.execute(REFS_DEPENDED_ON, asked)
    return [(ref, kin) for ref, kin in await cursor.fetchall()]
