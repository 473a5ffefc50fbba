"""The places that the fold of a kin can be taken up from: the newest before a moment, and the next after another."""

from datetime import datetime
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

FOLD_MARKS: Final = """
(SELECT at, state FROM ledger.fold_mark
WHERE organisation = %(organisation)s AND kin = %(kin)s AND at < %(before)s
ORDER BY at DESC
LIMIT 1)
UNION ALL
(SELECT at, state FROM ledger.fold_mark
WHERE organisation = %(organisation)s AND kin = %(kin)s AND at >= %(after)s
ORDER BY at
LIMIT %(most)s)
"""


async def fold_marks(
    conn: AsyncConnection, organisation: UUID, kin: str, *, before: datetime, after: datetime, most: int
) -> dict[datetime, bytes]:
    """Give the states of the last mark before a moment and of so many from another on, by the last instant before each.

    `after` is no earlier than `before`.
    """
    asked = {"organisation": organisation, "kin": kin, "before": before, "after": after, "most": most}
    cursor = await conn.execute(FOLD_MARKS, asked)
    return {at: bytes(state) for at, state in await cursor.fetchall()}
