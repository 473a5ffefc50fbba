"""Find events by their ids: repeats of what is recorded, targets of voidings."""

from collections.abc import Iterable
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

from service.store.arrays import Uuids
from service.store.stored import Stored, read_stored

EVENTS_BY_IDS: Final = """
SELECT organisation, seq, kind, kind_version, received_at, recorded_at, sent_at, key, imported, body, conflicts
FROM ledger.event
WHERE organisation = %(organisation)s AND id = ANY (%(ids)s::uuid[])
ORDER BY seq
"""


async def events_by_ids(conn: AsyncConnection, organisation: UUID, events: Iterable[UUID]) -> dict[UUID, Stored]:
    """Give the events that exist, by id."""
    found = await read_stored(conn, EVENTS_BY_IDS, {"organisation": organisation, "ids": Uuids(events)})
    return {stored.recorded.event.id: stored for stored in found}
