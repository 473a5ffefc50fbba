"""When units were withdrawn and in nobody's hands, and will be if nothing more happens."""

from collections.abc import Iterable
from datetime import datetime
from typing import Final, NamedTuple
from uuid import UUID

from psycopg import AsyncConnection
from psycopg.rows import args_row

from service.store.arrays import Uuids

# Quarantined units are in scope as long as they are in somebody's hands (R10).
PUT_AWAY_OF_UNITS: Final = """
SELECT u.nth::int - 1, away.since, nullif(away.until, 'infinity')
FROM unnest(%(units)s::uuid[]) WITH ORDINALITY u (unit, nth)
    CROSS JOIN LATERAL (
        SELECT since, until FROM ledger.standing_interval
        WHERE organisation = %(organisation)s AND unit = u.unit
            AND phase = 'quarantined' AND NOT in_scope
        ORDER BY since) away
"""


class AwayOfUnit(NamedTuple):
    """A span in which the nth unit asked for was put away, half-open; `until` None has no end."""

    nth: int
    since: datetime
    until: datetime | None


async def put_away_of_units(conn: AsyncConnection, organisation: UUID, units: Iterable[UUID]) -> list[AwayOfUnit]:
    """Give the spans, those of a unit in order."""
    async with conn.cursor(binary=True, row_factory=args_row(AwayOfUnit)) as cursor:
        await cursor.execute(PUT_AWAY_OF_UNITS, {"organisation": organisation, "units": Uuids(units)})
        return await cursor.fetchall()
