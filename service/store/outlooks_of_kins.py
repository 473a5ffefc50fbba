"""The outlooks of the units of kins, as the newest fold left them, with the tags that hang together in each kin."""

from collections.abc import Iterable
from typing import Final, NamedTuple
from uuid import UUID

from psycopg import AsyncConnection
from psycopg.rows import args_row

from service.store.arrays import Texts

OUTLOOKS_OF_KINS: Final = """
SELECT u.kin, u.outlook, ARRAY (
    SELECT h.tag FROM ledger.kinship h WHERE h.organisation = u.organisation AND h.kin = u.kin ORDER BY h.tag) AS tags
FROM ledger.unit u
WHERE u.organisation = %(organisation)s AND u.kin = ANY (%(kins)s::text[])
ORDER BY u.tag, u.unit
"""


class OutlookOfKin(NamedTuple):
    """A unit as its fold left it, packed, and all tags of its kin."""

    kin: str
    outlook: bytes
    tags: list[str]


async def outlooks_of_kins(conn: AsyncConnection, organisation: UUID, kins: Iterable[str]) -> list[OutlookOfKin]:
    """Give the units by tag; a tag used again has several."""
    async with conn.cursor(binary=True, row_factory=args_row(OutlookOfKin)) as cursor:
        await cursor.execute(OUTLOOKS_OF_KINS, {"organisation": organisation, "kins": Texts(kins)})
        return await cursor.fetchall()
