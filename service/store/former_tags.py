"""Tags with a text in them that no unit has now, each with the kin that it belongs to: a unit may have had it once."""

from typing import Final
from uuid import UUID

import msgspec
from psycopg import AsyncConnection
from psycopg.rows import class_row

FORMER_TAGS: Final = """
SELECT k.kin, k.tag
FROM ledger.kinship k
WHERE k.organisation = %(organisation)s AND position(lower(%(text)s::text) IN lower(k.tag)) > 0
    AND NOT EXISTS (SELECT FROM ledger.unit u WHERE u.organisation = k.organisation AND u.tag = k.tag)
ORDER BY k.tag
"""


class FormerTag(msgspec.Struct, frozen=True):
    """A tag that is in use no longer, and the kin that it belongs to."""

    kin: str
    tag: str


async def former_tags(conn: AsyncConnection, organisation: UUID, text: str) -> list[FormerTag]:
    """Give the tags, whichever case their letters have."""
    async with conn.cursor(row_factory=class_row(FormerTag)) as cursor:
        await cursor.execute(FORMER_TAGS, {"organisation": organisation, "text": text})
        return await cursor.fetchall()
