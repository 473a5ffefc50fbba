"""Who wore units."""

from collections.abc import Iterable
from datetime import datetime
from typing import Final, NamedTuple
from uuid import UUID

from psycopg import AsyncConnection
from psycopg.rows import args_row

from service.domain.wearing import KnownBy
from service.store.arrays import Uuids

WEARINGS_OF_UNITS: Final = """
SELECT u.nth::int - 1, w.at, w.site, w.ref, w.person, w.ends, w.known_by, w.day
FROM unnest(%(units)s::uuid[]) WITH ORDINALITY u (unit, nth)
    CROSS JOIN LATERAL (
        SELECT at, site, ref, person, ends, known_by, day FROM ledger.use_made
        WHERE organisation = %(organisation)s AND unit = u.unit AND worn
        ORDER BY at, ref) w
"""


class WearingOfUnit(NamedTuple):
    """One wearing of the nth unit asked for, by its event and the kind of that.

    `ends` where that was said, `day` where it states that alone.
    """

    nth: int
    at: datetime
    site: str
    ref: UUID
    person: str | None
    ends: datetime | None
    known_by: KnownBy
    day: datetime | None


async def wearings_of_units(conn: AsyncConnection, organisation: UUID, units: Iterable[UUID]) -> list[WearingOfUnit]:
    """Give the wearings, those of a unit in order."""
    async with conn.cursor(binary=True, row_factory=args_row(WearingOfUnit)) as cursor:
        await cursor.execute(WEARINGS_OF_UNITS, {"organisation": organisation, "units": Uuids(units)})
        return await cursor.fetchall()
