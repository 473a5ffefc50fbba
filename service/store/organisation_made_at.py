"""Say when an organisation was made."""

from datetime import datetime
from uuid import UUID

from psycopg import AsyncConnection

ORGANISATION_MADE_AT = """
SELECT created_at FROM ledger.organisation WHERE organisation = %(organisation)s
"""


async def organisation_made_at(conn: AsyncConnection, organisation: UUID) -> datetime | None:
    """Give the moment, None where there is no such organisation for this transaction."""
    cursor = await conn.execute(ORGANISATION_MADE_AT, {"organisation": organisation})
    row = await cursor.fetchone()
    return row[0] if row else None
