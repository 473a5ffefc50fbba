"""Open messages that wait for a reference, in the order they came."""

from collections.abc import Sequence
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection
from psycopg.rows import class_row

from service.store.rejected_messages import RejectedMessage

MESSAGES_WAITING_FOR: Final = """
SELECT id, key, role, sites, received_at, last_received_at, recorded_at, sent_at, imported, count, body, fields, kept,
    event, kind, tag, site, adverse, status, problem, waiting_for, state, settled_at, settled_by, settled_key, reason,
    accepted_seq
FROM ledger.rejected_message
WHERE organisation = %(organisation)s AND state = 'open' AND waiting_for <> '{}'
    AND waiting_for && %(refs)s::text[] AND body IS NOT NULL
ORDER BY recorded_at, id
"""


async def messages_waiting_for(conn: AsyncConnection, organisation: UUID, refs: Sequence[str]) -> list[RejectedMessage]:
    """Give the messages that wait for one of the references and still have their bodies."""
    async with conn.cursor(row_factory=class_row(RejectedMessage)) as cursor:
        await cursor.execute(MESSAGES_WAITING_FOR, {"organisation": organisation, "refs": list(refs)})
        return await cursor.fetchall()
