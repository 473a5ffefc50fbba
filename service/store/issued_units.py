"""The units in issue as they were last folded: those whose uses go on without any event."""

from datetime import datetime
from typing import Final
from uuid import UUID

import msgspec
from psycopg import AsyncConnection
from psycopg.rows import class_row

ISSUED_UNITS: Final = """
SELECT unit, outlook FROM ledger.unit
WHERE organisation = %(organisation)s AND phase = 'issued'
    AND (next_until < %(until)s OR (%(unsound)s AND next_uses[next_sound + 1] < %(until)s))
ORDER BY unit
"""


class IssuedUnit(msgspec.Struct, frozen=True):
    """A unit and its packed outlook."""

    unit: UUID
    outlook: bytes


async def issued_units(
    conn: AsyncConnection, organisation: UUID, until: datetime, *, unsound: bool
) -> list[IssuedUnit]:
    """Give the units in issue whose uses up to a moment were not told beforehand.

    With `unsound` also those of which one was told that lacks cover, or that something else is against.
    """
    async with conn.cursor(row_factory=class_row(IssuedUnit)) as cursor:
        await cursor.execute(ISSUED_UNITS, {"organisation": organisation, "until": until, "unsound": unsound})
        return await cursor.fetchall()
