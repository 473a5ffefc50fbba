"""Find whose key was presented, before any organisation is known."""

from datetime import datetime
from typing import Final
from uuid import UUID

import msgspec
from psycopg import AsyncConnection
from psycopg.rows import class_row

from service.domain.caller import Role

FIND_KEY: Final = """
SELECT organisation, id, name, role, sites, expires_at, revoked_at FROM ledger.key_by_hash(%(secret_hash)s::bytea)
"""


class FoundKey(msgspec.Struct, frozen=True, kw_only=True):
    """A key that exists; it may have expired or been revoked."""

    organisation: UUID
    id: UUID
    name: str
    role: Role
    sites: list[str] | None
    expires_at: datetime | None
    revoked_at: datetime | None


async def find_key(conn: AsyncConnection, secret_hash: bytes) -> FoundKey | None:
    """Give the key whose secret has this hash, or None."""
    async with conn.cursor(row_factory=class_row(FoundKey)) as cursor:
        await cursor.execute(FIND_KEY, {"secret_hash": secret_hash})
        return await cursor.fetchone()
