"""How many webhooks an organisation has."""

from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

COUNT_WEBHOOKS: Final = "SELECT count(*) FROM ledger.webhook WHERE organisation = %(organisation)s"


async def count_webhooks(conn: AsyncConnection, organisation: UUID) -> int:
    """Count them."""
    row = await (await conn.execute(COUNT_WEBHOOKS, {"organisation": organisation})).fetchone()
    return 0 if row is None else int(row[0])
