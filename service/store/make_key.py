"""Store a new API key, as the owner."""

from datetime import datetime
from uuid import UUID

import msgspec
from psycopg import AsyncConnection

from service.domain.caller import Role

MAKE_KEY = """
INSERT INTO ledger.api_key (organisation, id, name, role, sites, secret_hash, created_at, expires_at)
VALUES (%(organisation)s, %(id)s, %(name)s, %(role)s, %(sites)s, %(secret_hash)s, %(created_at)s, %(expires_at)s)
"""


class NewKey(msgspec.Struct, frozen=True, kw_only=True):
    """A key to be stored by the hash of its secret; `sites` None binds it to none, so that it may go to all."""

    id: UUID
    name: str
    role: Role
    sites: list[str] | None
    secret_hash: bytes
    created_at: datetime
    expires_at: datetime | None


async def make_key(conn: AsyncConnection, organisation: UUID, key: NewKey) -> None:
    """Store the key."""
    await conn.execute(MAKE_KEY, {"organisation": organisation, **msgspec.structs.asdict(key)})
