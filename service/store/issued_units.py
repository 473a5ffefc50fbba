"""The units in issue as they were last folded: those whose uses go on without any event."""

from typing import Final
from uuid import UUID

import msgspec
from psycopg import AsyncConnection
from psycopg.rows import class_row

ISSUED_UNITS: Final = """
SELECT unit, outlook FROM ledger.unit
WHERE organisation = %(organisation)s AND phase = 'issued'
ORDER BY unit
"""


class IssuedUnit(msgspec.Struct, frozen=True):
    """A unit and its packed outlook."""

    unit: UUID
    outlook: bytes


async def issued_units(conn: AsyncConnection, organisation: UUID) -> list[IssuedUnit]:
    """Give every unit in issue."""
    async with conn.cursor(row_factory=class_row(IssuedUnit)) as cursor:
        await cursor.execute(ISSUED_UNITS, {"organisation": organisation})
        return await cursor.fetchall()
