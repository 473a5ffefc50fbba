"""Store a new API key, as the owner."""

from collections.abc import Sequence
from datetime import datetime
from uuid import UUID

from psycopg import AsyncConnection

from service.domain.caller import Role

MAKE_KEY = """
INSERT INTO ledger.api_key (organisation, id, name, role, sites, secret_hash, created_at, expires_at)
VALUES (%(organisation)s, %(id)s, %(name)s, %(role)s, %(sites)s, %(secret_hash)s, %(created_at)s, %(expires_at)s)
"""


async def make_key(
    conn: AsyncConnection,
    organisation: UUID,
    *,
    key: UUID,
    name: str,
    role: Role,
    sites: Sequence[str] | None,
    secret_hash: bytes,
    created_at: datetime,
    expires_at: datetime | None,
) -> None:
    """Store the key by the hash of its secret; `sites` None binds it to no site, so that it may go to all."""
    await conn.execute(
        MAKE_KEY,
        {
            "organisation": organisation,
            "id": key,
            "name": name,
            "role": role,
            "sites": None if sites is None else list(sites),
            "secret_hash": secret_hash,
            "created_at": created_at,
            "expires_at": expires_at,
        },
    )
