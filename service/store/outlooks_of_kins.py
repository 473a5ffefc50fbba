"""The outlooks of the units of kins, as the newest fold left them."""

from collections.abc import Iterable
from typing import Final, NamedTuple
from uuid import UUID

from psycopg import AsyncConnection
from psycopg.rows import args_row

from service.store.arrays import Texts

OUTLOOKS_OF_KINS: Final = """
SELECT kin, outlook FROM ledger.unit
WHERE organisation = %(organisation)s AND kin = ANY (%(kins)s::text[])
ORDER BY tag, unit
"""


class OutlookOfKin(NamedTuple):
    """A unit as its fold left it, packed."""

    kin: str
    outlook: bytes


async def outlooks_of_kins(conn: AsyncConnection, organisation: UUID, kins: Iterable[str]) -> list[OutlookOfKin]:
    """Give the units by tag; a tag used again has several."""
    async with conn.cursor(binary=True, row_factory=args_row(OutlookOfKin)) as cursor:
        await cursor.execute(OUTLOOKS_OF_KINS, {"organisation": organisation, "kins": Texts(kins)})
        return await cursor.fetchall()
