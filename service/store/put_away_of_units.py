"""When units were withdrawn and in nobody's hands, up to a moment."""

from collections.abc import Iterable
from datetime import datetime
from typing import Final
from uuid import UUID

import msgspec
from psycopg import AsyncConnection
from psycopg.rows import class_row

from service.store.arrays import Uuids

# Quarantined units are in scope as long as they are in somebody's hands (R10).
PUT_AWAY_OF_UNITS: Final = """
SELECT unit, since, nullif(until, 'infinity') AS until FROM ledger.standing_interval
WHERE organisation = %(organisation)s AND unit = ANY (%(units)s::uuid[]) AND since <= %(at)s
    AND phase = 'quarantined' AND NOT in_scope
ORDER BY unit, since
"""


class AwayOfUnit(msgspec.Struct, frozen=True):
    """A span in which a unit was put away, half-open; `until` None has no end."""

    unit: UUID
    since: datetime
    until: datetime | None


async def put_away_of_units(
    conn: AsyncConnection, organisation: UUID, units: Iterable[UUID], at: datetime
) -> list[AwayOfUnit]:
    """Give the spans that had begun by then, by unit and in order."""
    async with conn.cursor(row_factory=class_row(AwayOfUnit)) as cursor:
        await cursor.execute(PUT_AWAY_OF_UNITS, {"organisation": organisation, "units": Uuids(units), "at": at})
        return await cursor.fetchall()
