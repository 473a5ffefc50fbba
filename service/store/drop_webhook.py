"""Take a webhook away, and with it what is known of its deliveries."""

from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

DROP_WEBHOOK: Final = "DELETE FROM ledger.webhook WHERE organisation = %(organisation)s AND id = %(id)s"


async def drop_webhook(conn: AsyncConnection, organisation: UUID, webhook: UUID) -> bool:
    """Take it away; False where there is none any more."""
    return (await conn.execute(DROP_WEBHOOK, {"organisation": organisation, "id": webhook})).rowcount == 1
