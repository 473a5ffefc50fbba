"""List all organisations, which the owner alone may."""

from uuid import UUID

from psycopg import AsyncConnection

ORGANISATIONS = """
SELECT organisation, name FROM ledger.organisation ORDER BY name, organisation
"""


async def organisations(conn: AsyncConnection) -> list[tuple[UUID, str]]:
    """Give id and name of every organisation, by name."""
    cursor = await conn.execute(ORGANISATIONS)
    return [(organisation, name) for organisation, name in await cursor.fetchall()]
