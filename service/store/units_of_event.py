"""The unit that an event contradicted; where it contradicts none by now, all units that it may be about."""

from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

UNITS_OF_EVENT: Final = """
SELECT u.unit, EXISTS (
    SELECT FROM ledger.finding f
    WHERE f.organisation = u.organisation AND f.unit = u.unit AND f.event = %(event)s) AS found
FROM ledger.kinship k
    JOIN ledger.unit u ON u.organisation = k.organisation AND u.kin = k.kin
WHERE k.organisation = %(organisation)s AND k.tag = %(tag)s
ORDER BY u.unit
"""


async def units_of_event(conn: AsyncConnection, organisation: UUID, tag: str, event: UUID) -> list[UUID]:
    """Give the units; `tag` is the one that the event names."""
    parameters = {"organisation": organisation, "tag": tag, "event": event}
    rows = await (await conn.execute(UNITS_OF_EVENT, parameters)).fetchall()
    return [unit for unit, found in rows if found] or [unit for unit, _ in rows]
