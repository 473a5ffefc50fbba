"""Free text kept out of the log, by event."""

from collections.abc import Iterable
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

from service.store.append import FreeText
from service.store.arrays import Uuids

TEXTS_OF_EVENTS: Final = """
SELECT event, path, key, text FROM ledger.free_text
WHERE organisation = %(organisation)s AND event = ANY (%(events)s::uuid[])
ORDER BY event, path
"""


async def texts_of_events(
    conn: AsyncConnection, organisation: UUID, events: Iterable[UUID]
) -> dict[UUID, list[FreeText]]:
    """Give the texts that were not erased, by event and in order of path; an event without any is left out."""
    found: dict[UUID, list[FreeText]] = {}
    cursor = await conn.execute(TEXTS_OF_EVENTS, {"organisation": organisation, "events": Uuids(events)})
    for event, path, key, text in await cursor.fetchall():
        found.setdefault(event, []).append(FreeText(path=path, key=key, text=text))
    return found
