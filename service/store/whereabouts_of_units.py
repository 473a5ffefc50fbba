"""At which site units were, and in which phase, from a moment to another."""

from collections.abc import Iterable
from datetime import datetime
from typing import Final
from uuid import UUID

import msgspec
from psycopg import AsyncConnection
from psycopg.rows import class_row

from service.store.arrays import Uuids

WHEREABOUTS_OF_UNITS: Final = """
SELECT unit, since, site, phase
FROM (
    SELECT unit, since, site, phase, lag(site) OVER before AS site_before, lag(phase) OVER before AS phase_before
    FROM ledger.standing_interval
    WHERE organisation = %(organisation)s AND unit = ANY (%(units)s::uuid[])
        AND since <= %(at)s AND until > %(begins)s
    WINDOW before AS (PARTITION BY unit ORDER BY since)) told
WHERE (site, phase) IS DISTINCT FROM (site_before, phase_before)
ORDER BY unit, since
"""


class WhereaboutsOfUnit(msgspec.Struct, frozen=True):
    """A unit has been at a site in a phase since a moment, until it is told anew."""

    unit: UUID
    since: datetime
    site: str
    phase: str


async def whereabouts_of_units(
    conn: AsyncConnection, organisation: UUID, units: Iterable[UUID], begins: datetime, at: datetime
) -> list[WhereaboutsOfUnit]:
    """Give where units were from `begins` to `at`, by unit and in order; the first may have begun before."""
    async with conn.cursor(row_factory=class_row(WhereaboutsOfUnit)) as cursor:
        await cursor.execute(
            WHEREABOUTS_OF_UNITS,
            {"organisation": organisation, "units": Uuids(units), "begins": begins, "at": at},
        )
        return await cursor.fetchall()
