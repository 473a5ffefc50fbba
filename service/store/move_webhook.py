"""Note at a webhook what an attempt says of it, as long as it is the webhook that the attempt was made for."""

from datetime import datetime
from typing import Final
from uuid import UUID

import msgspec
from psycopg import AsyncConnection

MOVE_WEBHOOK: Final = """
UPDATE ledger.webhook
SET passed = greatest(passed, %(passed)s), failures = %(failures)s, failing_since = %(failing_since)s,
    rests_until = %(rests_until)s, delivered_at = coalesce(%(delivered_at)s, delivered_at),
    state = CASE WHEN %(reason)s::text IS NULL THEN state ELSE 'disabled' END,
    reason = coalesce(%(reason)s::text, reason),
    version = version + CASE WHEN %(reason)s::text IS NULL THEN 0 ELSE 1 END
WHERE organisation = %(organisation)s AND id = %(id)s AND leased_by = %(by)s AND version = %(version)s
"""


class Moved(msgspec.Struct, frozen=True, kw_only=True):
    """What an attempt says of its webhook; `reason` is why it is disabled, None where it is not."""

    failures: int = 0
    failing_since: datetime | None = None
    rests_until: datetime | None = None
    delivered_at: datetime | None = None
    reason: str | None = None


async def move_webhook(
    conn: AsyncConnection, organisation: UUID, webhook: UUID, moved: Moved, *, by: UUID, version: int, passed: int
) -> bool:
    """Note it, and events up to `passed` as sent; False where another version is there, or another has the lease."""
    whose = {"organisation": organisation, "id": webhook, "by": by, "version": version, "passed": passed}
    return (await conn.execute(MOVE_WEBHOOK, msgspec.structs.asdict(moved) | whose)).rowcount == 1
