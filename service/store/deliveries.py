"""What became of the events that a webhook was to send, newest first."""

from datetime import datetime
from typing import Final, Literal, TypeAlias
from uuid import UUID

import msgspec
from psycopg import AsyncConnection
from psycopg.rows import class_row

DeliveryState: TypeAlias = Literal["delivered", "waiting", "dead"]

DELIVERIES: Final = """
SELECT seq, event, state, attempts, first_at, last_at, next_at, status, error, milliseconds
FROM ledger.webhook_delivery
WHERE organisation = %(organisation)s AND webhook = %(webhook)s
    AND (%(state)s::text IS NULL OR state = %(state)s)
    AND (%(before)s::bigint IS NULL OR seq < %(before)s)
ORDER BY seq DESC
LIMIT %(limit)s
"""


class Delivery(msgspec.Struct, frozen=True, kw_only=True):
    """An event that was sent: how often, when, and what was answered last."""

    seq: int
    event: UUID
    state: DeliveryState
    attempts: int
    first_at: datetime
    last_at: datetime
    next_at: datetime | None
    status: int | None
    error: str | None
    milliseconds: int


async def deliveries(
    conn: AsyncConnection,
    organisation: UUID,
    webhook: UUID,
    *,
    state: DeliveryState | None,
    before: int | None,
    limit: int,
) -> list[Delivery]:
    """Give at most `limit` deliveries of events before a seq."""
    parameters = {
        "organisation": organisation,
        "webhook": webhook,
        "state": state,
        "before": before,
        "limit": limit,
    }
    async with conn.cursor(row_factory=class_row(Delivery)) as cursor:
        await cursor.execute(DELIVERIES, parameters)
        return await cursor.fetchall()
