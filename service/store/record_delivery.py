"""Record what became of an event that was sent."""

from typing import Final
from uuid import UUID

import msgspec
from psycopg import AsyncConnection

from service.store.deliveries import Delivery

RECORD_DELIVERY: Final = """
INSERT INTO ledger.webhook_delivery (
    organisation, webhook, seq, event, state, attempts, first_at, last_at, next_at, status, error, milliseconds)
VALUES (
    %(organisation)s, %(webhook)s, %(seq)s, %(event)s, %(state)s, %(attempts)s, %(first_at)s, %(last_at)s, %(next_at)s,
    %(status)s, %(error)s, %(milliseconds)s)
ON CONFLICT ON CONSTRAINT webhook_delivery_pk DO UPDATE
SET state = excluded.state, attempts = excluded.attempts, last_at = excluded.last_at, next_at = excluded.next_at,
    status = excluded.status, error = excluded.error, milliseconds = excluded.milliseconds
"""


async def record_delivery(conn: AsyncConnection, organisation: UUID, webhook: UUID, delivery: Delivery) -> None:
    """Record it, instead of what was recorded of earlier attempts."""
    whose = {"organisation": organisation, "webhook": webhook}
    await conn.execute(RECORD_DELIVERY, msgspec.structs.asdict(delivery) | whose)
