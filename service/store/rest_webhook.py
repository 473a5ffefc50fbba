"""Have nothing sent for a webhook for a while, since the service itself failed at it."""

from datetime import datetime
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

REST_WEBHOOK: Final = """
UPDATE ledger.webhook SET failures = failures + 1, rests_until = %(until)s
WHERE organisation = %(organisation)s AND id = %(id)s AND leased_by = %(by)s
"""


async def rest_webhook(conn: AsyncConnection, organisation: UUID, webhook: UUID, *, by: UUID, until: datetime) -> None:
    """Have it rest, if the process still has its lease."""
    await conn.execute(REST_WEBHOOK, {"organisation": organisation, "id": webhook, "by": by, "until": until})
