"""Find the kins that are judged again when what they asked for changes."""

from collections.abc import Iterable
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

from service.store.arrays import Texts

KINS_DEPENDING_ON: Final = """
SELECT DISTINCT kin FROM ledger.dependency
WHERE organisation = %(organisation)s AND ref = ANY (%(refs)s::text[])
ORDER BY kin
"""


async def kins_depending_on(conn: AsyncConnection, organisation: UUID, refs: Iterable[str]) -> list[str]:
    """Give the names of the kins whose judgement asked for one of the references, found or not."""
    cursor = await conn.execute(KINS_DEPENDING_ON, {"organisation": organisation, "refs": Texts(refs)})
    return [kin for (kin,) in await cursor.fetchall()]
