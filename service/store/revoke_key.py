"""End a key, as the owner."""

from datetime import datetime
from uuid import UUID

from psycopg import AsyncConnection

REVOKE_KEY = """
UPDATE ledger.api_key SET revoked_at = %(revoked_at)s
WHERE organisation = %(organisation)s AND id = %(id)s AND revoked_at IS NULL
"""


async def revoke_key(conn: AsyncConnection, organisation: UUID, key: UUID, revoked_at: datetime) -> bool:
    """Revoke the key from that moment; False when there is no such key or it was revoked before."""
    cursor = await conn.execute(REVOKE_KEY, {"organisation": organisation, "id": key, "revoked_at": revoked_at})
    return cursor.rowcount == 1
