"""Find one event by its id."""

from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

from service.store.stored import Stored, read_stored

EVENT_BY_ID: Final = """
SELECT organisation, seq, kind, kind_version, received_at, recorded_at, sent_at, key, imported, body, conflicts
FROM ledger.event
WHERE organisation = %(organisation)s AND id = %(id)s
"""


async def event_by_id(conn: AsyncConnection, organisation: UUID, event: UUID) -> Stored | None:
    """Give the event, or None."""
    found = await read_stored(conn, EVENT_BY_ID, {"organisation": organisation, "id": event})
    return found[0] if found else None
