"""Who wore units."""

from collections.abc import Iterable
from datetime import datetime
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection
from psycopg.rows import tuple_row

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


WearingOfUnit = tuple[int, datetime, str, UUID, str | None, datetime | None, KnownBy, datetime | None]
"""One wearing of the nth unit asked for: when, at which site, by its event, its person, and the kind of the event.

Between those two when it ended, where that was said; last the other end of its day, where it states that alone. There
are many: a plain tuple.
"""


async def wearings_of_units(conn: AsyncConnection, organisation: UUID, units: Iterable[UUID]) -> list[WearingOfUnit]:
    """Give the wearings, those of a unit in order."""
    async with conn.cursor(binary=True, row_factory=tuple_row) as cursor:
        await cursor.execute(WEARINGS_OF_UNITS, {"organisation": organisation, "units": Uuids(units)})
        return await cursor.fetchall()
