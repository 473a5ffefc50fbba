"""How much a key has in open rejected messages."""

from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

OPEN_OF_KEY: Final = """
SELECT count(*), coalesce(sum(q.size), 0)::bigint
FROM (
    SELECT octet_length(r.body) AS size FROM ledger.rejected_message r
    WHERE r.organisation = %(organisation)s AND r.key = %(key)s AND r.state = 'open'
    LIMIT %(most)s) q
"""


async def open_of_key(conn: AsyncConnection, organisation: UUID, key: UUID, most: int) -> tuple[int, int]:
    """Give the number of messages, counted up to `most`, and the bytes of the bodies that are kept of them."""
    cursor = await conn.execute(OPEN_OF_KEY, {"organisation": organisation, "key": key, "most": most})
    row = await cursor.fetchone()
    assert row is not None  # noqa: S101 - a sum is one row
    return row[0], row[1]
