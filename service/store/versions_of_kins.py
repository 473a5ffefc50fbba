"""The versions of kins, as they were last written."""

from collections.abc import Iterable
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

from service.store.arrays import Texts

VERSIONS_OF_KINS: Final = """
SELECT kin, version FROM ledger.kin WHERE organisation = %(organisation)s AND kin = ANY (%(kins)s::text[])
"""


async def versions_of_kins(conn: AsyncConnection, organisation: UUID, kins: Iterable[str]) -> dict[str, int]:
    """Give by name the versions of the kins that exist: no two writings of a kin have the same."""
    async with conn.cursor(binary=True) as cursor:
        await cursor.execute(VERSIONS_OF_KINS, {"organisation": organisation, "kins": Texts(kins)})
        return dict(await cursor.fetchall())
