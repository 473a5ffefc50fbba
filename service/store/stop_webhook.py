"""Stop a webhook for a reason that somebody must see to."""

from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

from service.store.webhooks import WebhookReason

STOP_WEBHOOK: Final = """
UPDATE ledger.webhook
SET version = version + 1, state = 'disabled', reason = %(reason)s, leased_by = NULL, leased_until = NULL
WHERE organisation = %(organisation)s AND id = %(id)s AND leased_by = %(by)s AND state = 'active'
    AND version = %(version)s
"""


async def stop_webhook(
    conn: AsyncConnection, organisation: UUID, webhook: UUID, *, by: UUID, version: int, reason: WebhookReason
) -> bool:
    """Stop it; False where the process has its lease no more, or somebody has changed it."""
    parameters = {"organisation": organisation, "id": webhook, "by": by, "version": version, "reason": reason}
    return (await conn.execute(STOP_WEBHOOK, parameters)).rowcount == 1
