"""Make sure that a process still has the lease of a webhook, and has it until the transaction ends."""

from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

HOLD_WEBHOOK: Final = """
SELECT FROM ledger.webhook WHERE organisation = %(organisation)s AND id = %(id)s AND leased_by = %(by)s FOR UPDATE
"""


async def hold_webhook(conn: AsyncConnection, organisation: UUID, webhook: UUID, *, by: UUID) -> bool:
    """Hold it; False where the lease is another's, or the webhook gone."""
    return (await conn.execute(HOLD_WEBHOOK, {"organisation": organisation, "id": webhook, "by": by})).rowcount == 1
