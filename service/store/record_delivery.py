"""Record what became of an event that was sent, and what that says of its webhook."""

from datetime import datetime
from typing import Final
from uuid import UUID

import msgspec
from psycopg import AsyncConnection

from service.store.deliveries import Delivery

MOVE_WEBHOOK: Final = """
UPDATE ledger.webhook
SET passed = CASE WHEN version = %(version)s THEN greatest(passed, %(passed)s) ELSE passed END,
    failures = %(failures)s, failing_since = %(failing_since)s, rests_until = %(rests_until)s,
    delivered_at = coalesce(%(delivered_at)s, delivered_at),
    state = CASE WHEN %(reason)s::text IS NULL THEN state ELSE 'disabled' END,
    reason = coalesce(%(reason)s::text, reason),
    version = version + CASE WHEN %(reason)s::text IS NULL THEN 0 ELSE 1 END
WHERE organisation = %(organisation)s AND id = %(id)s AND leased_by = %(by)s
"""
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


class Moved(msgspec.Struct, frozen=True, kw_only=True):
    """What an attempt says of its webhook; `reason` is why it is disabled, None where it is not."""

    failures: int = 0
    failing_since: datetime | None = None
    rests_until: datetime | None = None
    delivered_at: datetime | None = None
    reason: str | None = None


async def record_delivery(
    conn: AsyncConnection,
    organisation: UUID,
    webhook: UUID,
    delivery: Delivery,
    moved: Moved,
    *,
    by: UUID,
    version: int,
    passed: int,
) -> bool:
    """Record it; False, and nothing is written, where the process has the lease no more."""
    whose = {"organisation": organisation, "id": webhook, "by": by, "version": version, "passed": passed}
    if (await conn.execute(MOVE_WEBHOOK, msgspec.structs.asdict(moved) | whose)).rowcount != 1:
        return False
    whose = {"organisation": organisation, "webhook": webhook}
    await conn.execute(RECORD_DELIVERY, msgspec.structs.asdict(delivery) | whose)
    return True
