"""When units were last spoken of, and first since a moment."""

from collections.abc import Iterable
from datetime import datetime
from typing import Final
from uuid import UUID

import msgspec
from psycopg import AsyncConnection
from psycopg.rows import class_row

from service.store.arrays import Texts

# What is ordered from a desk is no sign of the unit itself.
SPOKEN_SINCE: Final = """
SELECT substr(s.subject, 7) AS tag, max(s.instant) AS last,
    min(s.instant) FILTER (WHERE s.instant >= %(since)s AND e.kind <> 'quarantined') AS first
FROM ledger.event_subject s JOIN ledger.event e ON e.organisation = s.organisation AND e.seq = s.seq
WHERE s.organisation = %(organisation)s AND s.subject = ANY (%(subjects)s::text[]) AND s.instant <= %(at)s
    AND s.seq <= %(until_seq)s
GROUP BY s.subject
"""


class Spoken(msgspec.Struct, frozen=True):
    """The last event about a tag, and the first since the moment, whatever was only ordered left out."""

    tag: str
    last: datetime
    first: datetime | None


async def spoken_since(
    conn: AsyncConnection, organisation: UUID, tags: Iterable[str], *, since: datetime, at: datetime, until_seq: int
) -> dict[str, Spoken]:
    """Give for each tag what was recorded of it by `until_seq` and happened by `at`."""
    asked = {
        "organisation": organisation,
        "subjects": Texts(f"asset:{tag}" for tag in tags),
        "since": since,
        "at": at,
        "until_seq": until_seq,
    }
    async with conn.cursor(row_factory=class_row(Spoken)) as cursor:
        await cursor.execute(SPOKEN_SINCE, asked)
        return {row.tag: row for row in await cursor.fetchall()}
