"""Take or keep the right to send for a webhook: one process has it at a time, until it lets go or its time is over.

The time is the database's own, so that processes whose clocks differ agree on who has it.
"""

from datetime import datetime
from typing import Final
from uuid import UUID

import msgspec
from psycopg import AsyncConnection
from psycopg.rows import class_row

from service.domain.caller import Role

LEASE_WEBHOOK: Final = """
UPDATE ledger.webhook w
SET leased_by = %(by)s, leased_until = clock_timestamp() + %(seconds)s * interval '1 second',
    passed = CASE WHEN w.version = %(version)s THEN greatest(w.passed, %(passed)s) ELSE w.passed END
FROM ledger.api_key k
WHERE w.organisation = %(organisation)s AND w.id = %(id)s AND w.state = 'active'
    AND (w.leased_by = %(by)s OR w.leased_until IS NULL OR w.leased_until <= clock_timestamp())
    AND k.organisation = w.organisation AND k.id = w.key
RETURNING w.id, w.version, w.key, k.role, w.sites, w.url, w.kinds, w.site, w.subject, w.salt, w.mark, w.old_salts,
    w.old_untils, w.passed, w.failures, w.failing_since, w.rests_until,
    (k.revoked_at IS NOT NULL OR coalesce(k.expires_at <= %(now)s, false)) AS key_ended
"""
LET_GO: Final = """
UPDATE ledger.webhook SET leased_by = NULL, leased_until = NULL
WHERE organisation = %(organisation)s AND id = %(id)s AND leased_by = %(by)s
"""


class Leased(msgspec.Struct, frozen=True, kw_only=True):
    """A webhook that this process may send for, as it is now, and whether the key it hangs on has ended."""

    id: UUID
    version: int
    key: UUID
    role: Role
    sites: list[str] | None
    url: str
    kinds: list[str] | None
    site: str | None
    subject: str | None
    salt: bytes
    mark: bytes
    old_salts: list[bytes]
    old_untils: list[datetime]
    passed: int
    failures: int
    failing_since: datetime | None
    rests_until: datetime | None
    key_ended: bool


async def lease_webhook(
    conn: AsyncConnection,
    organisation: UUID,
    webhook: UUID,
    *,
    by: UUID,
    seconds: float,
    now: datetime,
    version: int,
    passed: int,
) -> Leased | None:
    """Take the lease or keep it; None where another process has it, or nothing is to be sent.

    Of a webhook that is still at the version, events up to `passed` are noted as looked through.
    """
    parameters = {
        "organisation": organisation,
        "id": webhook,
        "by": by,
        "seconds": seconds,
        "now": now,
        "version": version,
        "passed": passed,
    }
    async with conn.cursor(row_factory=class_row(Leased)) as cursor:
        return await (await cursor.execute(LEASE_WEBHOOK, parameters)).fetchone()


async def let_go(conn: AsyncConnection, organisation: UUID, webhook: UUID, *, by: UUID) -> None:
    """Let another process take it at once."""
    await conn.execute(LET_GO, {"organisation": organisation, "id": webhook, "by": by})
