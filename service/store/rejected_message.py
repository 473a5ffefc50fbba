"""One message that could not be accepted."""

from typing import Final
from uuid import UUID

from psycopg import AsyncConnection
from psycopg.rows import class_row

from service.store.rejected_messages import RejectedMessage

REJECTED_MESSAGE: Final = """
SELECT id, key, role, sites, received_at, last_received_at, recorded_at, sent_at, imported, count, body, fields, kept,
    event, kind, tag, site, adverse, status, problem, waiting_for, state, settled_at, settled_by, settled_key, reason,
    accepted_seq
FROM ledger.rejected_message
WHERE organisation = %(organisation)s AND id = %(id)s
"""


async def rejected_message(conn: AsyncConnection, organisation: UUID, rejected: UUID) -> RejectedMessage | None:
    """Give the message, or None."""
    async with conn.cursor(row_factory=class_row(RejectedMessage)) as cursor:
        await cursor.execute(REJECTED_MESSAGE, {"organisation": organisation, "id": rejected})
        return await cursor.fetchone()
