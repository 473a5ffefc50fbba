"""Which event is to be sent again next, and how many wait for a receiver that is not well."""

from datetime import datetime
from typing import Final
from uuid import UUID

import msgspec
from psycopg import AsyncConnection
from psycopg.rows import class_row

NEXT_DELIVERY: Final = """
SELECT d.seq, d.attempts, d.first_at, d.next_at,
    (SELECT count(*) FROM (
        SELECT FROM ledger.webhook_delivery h
        WHERE h.organisation = %(organisation)s AND h.webhook = %(webhook)s AND h.state = 'waiting'
            AND h.error <> 'refused'
        LIMIT %(most)s) held) AS holding
FROM ledger.webhook_delivery d
WHERE d.organisation = %(organisation)s AND d.webhook = %(webhook)s AND d.state = 'waiting'
ORDER BY d.next_at, d.seq
LIMIT 1
"""


class NextDelivery(msgspec.Struct, frozen=True, kw_only=True):
    """The delivery that is due first, and how many wait for their receiver to be well, as far as they were counted."""

    seq: int
    attempts: int
    first_at: datetime
    next_at: datetime
    holding: int


async def next_delivery(conn: AsyncConnection, organisation: UUID, webhook: UUID, most: int) -> NextDelivery | None:
    """Give the delivery that is due first, None where nothing is to be sent again; count up to `most` that hold others.

    What was refused holds nothing up: its receiver is well.
    """
    async with conn.cursor(row_factory=class_row(NextDelivery)) as cursor:
        await cursor.execute(NEXT_DELIVERY, {"organisation": organisation, "webhook": webhook, "most": most})
        return await cursor.fetchone()
