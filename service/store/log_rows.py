"""The whole log, row by row as it lies in the table, for whoever does not trust it."""

from collections.abc import AsyncIterator
from datetime import date, datetime
from typing import Final
from uuid import UUID

import msgspec
from psycopg import AsyncConnection
from psycopg.rows import class_row

LOG_ROWS: Final = """
SELECT organisation, seq, id, kind, kind_version, instant, on_day, by_ref, site, device, device_seq, received_at,
    recorded_at, sent_at, key, imported, body, leaf
FROM ledger.event
WHERE organisation = %(organisation)s
ORDER BY seq
"""


class LogRow(msgspec.Struct, frozen=True, kw_only=True):
    """A row as it lies in the table, but for `conflicts`, which no hash binds."""

    organisation: UUID
    seq: int
    id: UUID
    kind: str
    kind_version: int
    instant: datetime | None
    on_day: date | None
    by_ref: str
    site: str | None
    device: str | None
    device_seq: int | None
    received_at: datetime
    recorded_at: datetime
    sent_at: datetime | None
    key: UUID
    imported: bool
    body: bytes
    leaf: bytes


async def log_rows(conn: AsyncConnection, organisation: UUID) -> AsyncIterator[LogRow]:
    """Give every row in order of seq, a few at a time: memory does not grow with the log."""
    async with conn.cursor(name="log_rows", row_factory=class_row(LogRow)) as cursor:
        cursor.itersize = 1000
        await cursor.execute(LOG_ROWS, {"organisation": organisation})
        async for row in cursor:
            yield row
