"""The newest place before a moment that the fold of a kin can be taken up from."""

from datetime import datetime
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

FOLD_MARK: Final = """
SELECT state FROM ledger.fold_mark
WHERE organisation = %(organisation)s AND kin = %(kin)s AND at < %(before)s
ORDER BY at DESC
LIMIT 1
"""


async def fold_mark(conn: AsyncConnection, organisation: UUID, kin: str, before: datetime) -> bytes | None:
    """Give the state there, None where there is no such place."""
    cursor = await conn.execute(FOLD_MARK, {"organisation": organisation, "kin": kin, "before": before})
    row = await cursor.fetchone()
    return None if row is None else bytes(row[0])
