"""Which parts sat in units."""

from collections.abc import Iterable
from datetime import datetime
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection
from psycopg.rows import tuple_row

from service.store.arrays import Uuids

# Lateral, so that each unit's stays are read in the order of the index whatever the planner makes of so many units.
PARTS_OF_UNITS: Final = """
SELECT coalesce(stays.told, '{}'), coalesce(stays.until, '{}')
FROM unnest(%(units)s::uuid[]) WITH ORDINALITY u (unit, nth)
    CROSS JOIN LATERAL (
        SELECT array_agg(s.told) AS told, array_agg(nullif(s.until, 'infinity')) AS until
        FROM (SELECT told, until FROM ledger.stay
            WHERE organisation = %(organisation)s AND unit = u.unit AND position > ''
            ORDER BY since, position) s) stays
ORDER BY u.nth
"""

Told = tuple[list[bytes], list[datetime | None]]
"""Stays of a unit: as the fold told them, and until when (None: for ever), of the same length."""


async def parts_of_units(conn: AsyncConnection, organisation: UUID, units: Iterable[UUID]) -> list[Told]:
    """Give of each unit, in their order, which parts sat in it, or that a position was emptied, in order."""
    async with conn.cursor(binary=True, row_factory=tuple_row) as cursor:
        await cursor.execute(PARTS_OF_UNITS, {"organisation": organisation, "units": Uuids(units)})
        return await cursor.fetchall()
