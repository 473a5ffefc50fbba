"""Which parts sat in units, and who had them, up to a moment."""

from collections.abc import Iterable
from datetime import datetime
from typing import Final
from uuid import UUID

import msgspec
from psycopg import AsyncConnection
from psycopg.rows import class_row

from service.store.arrays import Uuids

STAYS_OF_UNITS: Final = """
SELECT unit, nullif(until, 'infinity') AS until, told FROM ledger.stay
WHERE organisation = %(organisation)s AND unit = ANY (%(units)s::uuid[]) AND since <= %(at)s
ORDER BY unit, since, position
"""


class StayOfUnit(msgspec.Struct, frozen=True):
    """A stay as the fold told it (`told`), and when it ended: None for never."""

    unit: UUID
    until: datetime | None
    told: bytes


async def stays_of_units(
    conn: AsyncConnection, organisation: UUID, units: Iterable[UUID], at: datetime
) -> list[StayOfUnit]:
    """Give the stays that had begun by then, by unit and in order."""
    async with conn.cursor(row_factory=class_row(StayOfUnit)) as cursor:
        await cursor.execute(STAYS_OF_UNITS, {"organisation": organisation, "units": Uuids(units), "at": at})
        return await cursor.fetchall()
