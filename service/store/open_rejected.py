"""Open messages that named an event by its id: what was refused once may be accepted as it is later."""

from collections.abc import Iterable
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection
from psycopg.rows import class_row

from service.store.arrays import Uuids
from service.store.rejected_messages import RejectedMessage

OPEN_REJECTED: Final = """
SELECT id, key, role, sites, received_at, last_received_at, recorded_at, sent_at, imported, count, body, fields, kept,
    event, kind, tag, site, adverse, status, problem, waiting_for, state, settled_at, settled_by, settled_key, reason,
    accepted_seq
FROM ledger.rejected_message
WHERE organisation = %(organisation)s AND state = 'open' AND event = ANY (%(events)s::uuid[]) AND body IS NOT NULL
ORDER BY recorded_at, id
"""


async def open_rejected(conn: AsyncConnection, organisation: UUID, events: Iterable[UUID]) -> list[RejectedMessage]:
    """Give the open messages with one of these event ids that still have their bodies."""
    async with conn.cursor(row_factory=class_row(RejectedMessage)) as cursor:
        await cursor.execute(OPEN_REJECTED, {"organisation": organisation, "events": Uuids(events)})
        return await cursor.fetchall()
