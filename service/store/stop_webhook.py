"""Stop a webhook for a reason that somebody must see to."""

from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

STOP_WEBHOOK: Final = """
UPDATE ledger.webhook
SET version = version + 1, state = 'disabled', reason = %(reason)s, leased_by = NULL, leased_until = NULL
WHERE organisation = %(organisation)s AND id = %(id)s AND leased_by = %(by)s AND state = 'active'
"""


async def stop_webhook(conn: AsyncConnection, organisation: UUID, webhook: UUID, *, by: UUID, reason: str) -> None:
    """Stop it, if the process still has its lease."""
    await conn.execute(STOP_WEBHOOK, {"organisation": organisation, "id": webhook, "by": by, "reason": reason})
