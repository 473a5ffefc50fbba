"""How far an organisation's log goes: the one number that whoever waits for more asks after."""

from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

HEAD_SEQ: Final = "SELECT last_seq FROM ledger.head WHERE organisation = %(organisation)s"


async def head_seq(conn: AsyncConnection, organisation: UUID) -> int:
    """Give the newest seq that this database holds, 0 where there is none."""
    cursor = await conn.execute(HEAD_SEQ, {"organisation": organisation})
    row = await cursor.fetchone()
    return 0 if row is None else int(row[0])
