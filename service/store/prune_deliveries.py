"""Forget deliveries that went well long ago, a batch at a time."""

from datetime import datetime
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

PRUNE_DELIVERIES: Final = """
DELETE FROM ledger.webhook_delivery
WHERE organisation = %(organisation)s AND (webhook, seq) IN (
    SELECT d.webhook, d.seq FROM ledger.webhook_delivery d
    WHERE d.organisation = %(organisation)s AND d.state = 'delivered' AND d.last_at <= %(until)s
    ORDER BY d.last_at
    LIMIT %(limit)s)
"""


async def prune_deliveries(conn: AsyncConnection, organisation: UUID, *, until: datetime, limit: int) -> int:
    """Forget at most `limit` deliveries of events that had arrived by then, as the owner; give how many."""
    parameters = {"organisation": organisation, "until": until, "limit": limit}
    return (await conn.execute(PRUNE_DELIVERIES, parameters)).rowcount
