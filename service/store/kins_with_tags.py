"""The kins of some tags, each with all the tags that hang together in it."""

from collections.abc import Iterable
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

from service.store.arrays import Texts

KINS_WITH_TAGS: Final = """
SELECT k.kin, array_agg(DISTINCT h.tag ORDER BY h.tag)
FROM ledger.kinship k JOIN ledger.kinship h ON h.organisation = k.organisation AND h.kin = k.kin
WHERE k.organisation = %(organisation)s AND k.tag = ANY (%(tags)s::text[])
GROUP BY k.kin
"""


async def kins_with_tags(conn: AsyncConnection, organisation: UUID, tags: Iterable[str]) -> dict[str, list[str]]:
    """Give the tags by kin, of the kins of these tags."""
    cursor = await conn.execute(KINS_WITH_TAGS, {"organisation": organisation, "tags": Texts(tags)})
    return dict(await cursor.fetchall())
