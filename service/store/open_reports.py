"""Reports of failures that were not resolved by a moment, each with the units that have its tag."""

from datetime import datetime
from typing import Final
from uuid import UUID

import msgspec
from psycopg import AsyncConnection
from psycopg.rows import class_row

OPEN_REPORTS: Final = """
SELECT f.id, f.tag, f.received_at, r.site,
    ARRAY (SELECT u.unit FROM ledger.unit u
        WHERE u.organisation = f.organisation AND u.tag = f.tag
        ORDER BY u.phase = 'retired', u.unit) AS units
FROM ledger.failure_report f
    LEFT JOIN ledger.rejected_message r ON r.organisation = f.organisation AND r.id = f.id
WHERE f.organisation = %(organisation)s AND f.recorded_at <= %(known_at)s
    AND (f.settled_at IS NULL OR f.settled_at > %(known_at)s)
ORDER BY f.received_at DESC, f.id DESC
"""


class OpenReport(msgspec.Struct, frozen=True):
    """A report about a tag, the site its message named, and the units of that tag, those not retired first."""

    id: UUID
    tag: str
    received_at: datetime
    site: str | None
    units: list[UUID]


async def open_reports(conn: AsyncConnection, organisation: UUID, known_at: datetime) -> list[OpenReport]:
    """Give the reports, newest first."""
    async with conn.cursor(row_factory=class_row(OpenReport)) as cursor:
        await cursor.execute(OPEN_REPORTS, {"organisation": organisation, "known_at": known_at})
        return await cursor.fetchall()
