"""List the keys of an organisation, without anything of their secrets."""

from datetime import datetime
from uuid import UUID

import msgspec
from psycopg import AsyncConnection
from psycopg.rows import class_row

from service.domain.caller import Role

KEYS = """
SELECT id, name, role, sites, created_at, expires_at, revoked_at
FROM ledger.api_key WHERE organisation = %(organisation)s
ORDER BY created_at, id
"""


class Key(msgspec.Struct, frozen=True, kw_only=True):
    """A key as it is listed; `sites` None is all of them."""

    id: UUID
    name: str
    role: Role
    sites: list[str] | None
    created_at: datetime
    expires_at: datetime | None
    revoked_at: datetime | None


async def keys(conn: AsyncConnection, organisation: UUID) -> list[Key]:
    """Give the keys in the order they were made."""
    async with conn.cursor(row_factory=class_row(Key)) as cursor:
        await cursor.execute(KEYS, {"organisation": organisation})
        return await cursor.fetchall()
