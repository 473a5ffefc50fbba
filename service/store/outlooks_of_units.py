"""Units as they were last folded, by their names."""

from collections.abc import Iterable
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

from service.store.arrays import Uuids

OUTLOOKS_OF_UNITS: Final = """
SELECT unit, outlook FROM ledger.unit
WHERE organisation = %(organisation)s AND unit = ANY (%(units)s::uuid[])
ORDER BY unit
"""


async def outlooks_of_units(conn: AsyncConnection, organisation: UUID, units: Iterable[UUID]) -> dict[UUID, bytes]:
    """Give the packed outlooks of units that exist."""
    cursor = await conn.execute(OUTLOOKS_OF_UNITS, {"organisation": organisation, "units": Uuids(units)})
    return dict(await cursor.fetchall())
