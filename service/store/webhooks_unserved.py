"""Find the webhooks that no process serves, before any organisation is known."""

from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

# A replica records no attempt, so whoever reads it sends none.
WEBHOOKS_UNSERVED: Final = """
SELECT organisation, webhook FROM ledger.webhooks_unserved() WHERE NOT pg_is_in_recovery()
"""


async def webhooks_unserved(conn: AsyncConnection) -> list[tuple[UUID, UUID]]:
    """Give organisation and id of active webhooks whose lease is nobody's or over, the oldest first."""
    return [
        (organisation, webhook) for organisation, webhook in await (await conn.execute(WEBHOOKS_UNSERVED)).fetchall()
    ]
