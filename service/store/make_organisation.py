"""Make an organisation with an empty log, as the owner."""

from datetime import datetime
from uuid import UUID

from psycopg import AsyncConnection

MAKE_ORGANISATION = """
WITH made AS (
    INSERT INTO ledger.organisation (organisation, name, created_at)
    VALUES (%(organisation)s, %(name)s, %(created_at)s)
    RETURNING organisation
)
INSERT INTO ledger.head (organisation) SELECT organisation FROM made
"""


async def make_organisation(conn: AsyncConnection, organisation: UUID, name: str, created_at: datetime) -> None:
    """Make the organisation and its counter; the transaction names it as its own."""
    await conn.execute(MAKE_ORGANISATION, {"organisation": organisation, "name": name, "created_at": created_at})
