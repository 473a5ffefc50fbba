"""The revision the schema is at."""

from typing import Final

from psycopg import AsyncConnection
from psycopg.errors import InsufficientPrivilege, InvalidSchemaName, UndefinedTable

SCHEMA_REVISION: Final = "SELECT version_num FROM ledger.alembic_version"


async def schema_revision(conn: AsyncConnection) -> str | None:
    """Give the revision; None when nothing was migrated, or not for this role."""
    try:
        cursor = await conn.execute(SCHEMA_REVISION)
    except (InsufficientPrivilege, InvalidSchemaName, UndefinedTable):
        return None
    row = await cursor.fetchone()
    return None if row is None else str(row[0])
