"""Reports of failures that could not be accepted, as they stood at a moment."""

from collections.abc import Iterable
from datetime import datetime
from typing import Final
from uuid import UUID

import msgspec
from psycopg import AsyncConnection
from psycopg.rows import class_row

from service.store.arrays import Texts

FAILURE_REPORTS: Final = """
SELECT id, tag, key, received_at, recorded_at, sent_at,
    CASE WHEN settled_at <= %(known_at)s THEN settled_at END AS settled_at,
    CASE WHEN settled_at <= %(known_at)s THEN settled_by END AS settled_by,
    CASE WHEN settled_at <= %(known_at)s THEN settled_key END AS settled_key,
    CASE WHEN settled_at <= %(known_at)s THEN accepted_seq END AS accepted_seq
FROM ledger.failure_report
WHERE organisation = %(organisation)s AND recorded_at <= %(known_at)s
    AND (%(tags)s::text[] IS NULL OR tag = ANY (%(tags)s))
ORDER BY recorded_at, id
"""


class FailureReport(msgspec.Struct, frozen=True, kw_only=True):
    """A report about a tag. `received_at` is when it came, `recorded_at` since when it is known, `key` who sent it."""

    id: UUID
    tag: str
    key: UUID
    received_at: datetime
    recorded_at: datetime
    sent_at: datetime | None
    settled_at: datetime | None
    settled_by: str | None
    settled_key: UUID | None
    accepted_seq: int | None


async def failure_reports(
    conn: AsyncConnection, organisation: UUID, *, known_at: datetime, tags: Iterable[str] | None = None
) -> list[FailureReport]:
    """Give the reports known at the moment, unsettled where they were then; `tags` None is all."""
    parameters = {
        "organisation": organisation,
        "known_at": known_at,
        "tags": None if tags is None else Texts(tags),
    }
    async with conn.cursor(row_factory=class_row(FailureReport)) as cursor:
        await cursor.execute(FAILURE_REPORTS, parameters)
        return await cursor.fetchall()
