"""Find the kin of each tag."""

from collections.abc import Iterable
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

from service.store.arrays import Texts

KINS_OF_TAGS: Final = """
SELECT tag, kin FROM ledger.kinship
WHERE organisation = %(organisation)s AND tag = ANY (%(tags)s::text[])
"""


async def kins_of_tags(conn: AsyncConnection, organisation: UUID, tags: Iterable[str]) -> dict[str, str]:
    """Give the kin by tag, of the tags that have one."""
    cursor = await conn.execute(KINS_OF_TAGS, {"organisation": organisation, "tags": Texts(tags)})
    return dict(await cursor.fetchall())
