"""Who had units, as far as that lasted past a moment of each."""

from collections.abc import Iterable
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection
from psycopg.rows import tuple_row

from service.store.arrays import Instants, Uuids
from service.store.parts_of_units import Told
from service.store.wearings_since import Since

# One hand had a unit after the other, so whatever began before the last that began before the moment was over by then;
# but for what may have been on a day: that is told in the last microseconds of it, so two days before is asked about.
HANDS_SINCE: Final = """
SELECT coalesce(hands.told, '{}'), coalesce(hands.until, '{}')
FROM unnest(%(units)s::uuid[], %(since)s::timestamptz[]) WITH ORDINALITY u (unit, since, nth)
    CROSS JOIN LATERAL (
        SELECT coalesce((
            SELECT since FROM ledger.stay
            WHERE organisation = %(organisation)s AND unit = u.unit AND position = '' AND since < u.since
            ORDER BY since DESC LIMIT 1), '-infinity') AS since OFFSET 0) last
    CROSS JOIN LATERAL (
        SELECT array_agg(s.told) AS told, array_agg(nullif(s.until, 'infinity')) AS until
        FROM (SELECT told, until FROM ledger.stay
            WHERE organisation = %(organisation)s AND unit = u.unit AND position = '' AND since >= last.since
            ORDER BY since) s) hands
ORDER BY u.nth
"""


async def hands_since(conn: AsyncConnection, organisation: UUID, asked: Iterable[Since]) -> list[Told]:
    """Give of each unit, in their order, who had it since the last that began before the moment, in order."""
    every = list(asked)
    parameters = {
        "organisation": organisation,
        "units": Uuids(one.unit for one in every),
        "since": Instants(one.since for one in every),
    }
    async with conn.cursor(binary=True, row_factory=tuple_row) as cursor:
        await cursor.execute(HANDS_SINCE, parameters)
        return await cursor.fetchall()
