"""What kins asked for, of all that is named, and which kin asked."""

from collections.abc import Iterable
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

from service.store.arrays import Texts

KINS_BY_REF: Final = """
SELECT ref, kin FROM ledger.dependency
WHERE organisation = %(organisation)s AND ref = ANY (%(refs)s::text[])
ORDER BY ref, kin
"""


async def kins_by_ref(conn: AsyncConnection, organisation: UUID, refs: Iterable[str]) -> list[tuple[str, str]]:
    """Give the references that kins' judgements asked for, found or not, in order, each with a kin that did."""
    cursor = await conn.execute(KINS_BY_REF, {"organisation": organisation, "refs": Texts(refs)})
    return [(ref, kin) for ref, kin in await cursor.fetchall()]
