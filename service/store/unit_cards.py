"""What lists show of units beside their standing."""

from collections.abc import Iterable
from typing import Final
from uuid import UUID

import msgspec
from psycopg import AsyncConnection
from psycopg.rows import class_row

from service.store.arrays import Uuids

UNIT_CARDS: Final = """
SELECT unit, card FROM ledger.unit
WHERE organisation = %(organisation)s AND unit = ANY (%(units)s::uuid[])
ORDER BY unit
"""


class UnitCard(msgspec.Struct, frozen=True):
    """A unit and its card (JSON), as last folded."""

    unit: UUID
    card: bytes


async def unit_cards(conn: AsyncConnection, organisation: UUID, units: Iterable[UUID]) -> list[UnitCard]:
    """Give the cards of units that exist, in order of unit."""
    async with conn.cursor(row_factory=class_row(UnitCard)) as cursor:
        await cursor.execute(UNIT_CARDS, {"organisation": organisation, "units": Uuids(units)})
        return await cursor.fetchall()
