"""The units of kins as the newest fold shows them."""

from collections.abc import Iterable
from typing import Final
from uuid import UUID

import msgspec
from psycopg import AsyncConnection
from psycopg.rows import class_row

from service.store.arrays import Texts

UNITS_OF_KINS: Final = """
SELECT unit, kin, tag, site, model, phase, standing, in_scope, do_not_use, card, outlook
FROM ledger.unit
WHERE organisation = %(organisation)s AND kin = ANY (%(kins)s::text[])
ORDER BY tag, unit
"""


class UnitOfKin(msgspec.Struct, gc=False, frozen=True, kw_only=True):
    """A unit as it was last written; time may have changed its standing since."""

    unit: UUID
    kin: str
    tag: str
    site: str
    model: str
    phase: str
    standing: str
    in_scope: bool
    do_not_use: bool
    card: bytes
    outlook: bytes


async def units_of_kins(conn: AsyncConnection, organisation: UUID, kins: Iterable[str]) -> list[UnitOfKin]:
    """Give the units by tag; a tag used again has several."""
    async with conn.cursor(binary=True, row_factory=class_row(UnitOfKin)) as cursor:
        await cursor.execute(UNITS_OF_KINS, {"organisation": organisation, "kins": Texts(kins)})
        return await cursor.fetchall()
