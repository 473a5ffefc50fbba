"""Who wore units, up to a moment."""

from collections.abc import Iterable
from datetime import datetime
from typing import Final
from uuid import UUID

import msgspec
from psycopg import AsyncConnection
from psycopg.rows import class_row

from service.domain.wearing import KnownBy
from service.store.arrays import Uuids

WEARINGS_OF_UNITS: Final = """
SELECT unit, at, site, ref, person, ends, known_by, day FROM ledger.use_made
WHERE organisation = %(organisation)s AND unit = ANY (%(units)s::uuid[]) AND worn AND at <= %(at)s
ORDER BY unit, at, ref
"""


class WearingOfUnit(msgspec.Struct, frozen=True):
    """One wearing, by its event and the kind of that; `ends` where that was said, `day` where it states that alone."""

    unit: UUID
    at: datetime
    site: str
    ref: UUID
    person: str | None
    ends: datetime | None
    known_by: KnownBy
    day: datetime | None


async def wearings_of_units(
    conn: AsyncConnection, organisation: UUID, units: Iterable[UUID], at: datetime
) -> list[WearingOfUnit]:
    """Give the wearings that had begun by then, by unit and in order."""
    async with conn.cursor(row_factory=class_row(WearingOfUnit)) as cursor:
        await cursor.execute(WEARINGS_OF_UNITS, {"organisation": organisation, "units": Uuids(units), "at": at})
        return await cursor.fetchall()
