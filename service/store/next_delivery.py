"""Which event is to be sent again next, and how many are to be."""

from datetime import datetime
from typing import Final
from uuid import UUID

import msgspec
from psycopg import AsyncConnection
from psycopg.rows import class_row

NEXT_DELIVERY: Final = """
SELECT seq, attempts, first_at, next_at, count(*) OVER () AS waiting
FROM ledger.webhook_delivery
WHERE organisation = %(organisation)s AND webhook = %(webhook)s AND state = 'waiting'
ORDER BY next_at, seq
LIMIT 1
"""


class NextDelivery(msgspec.Struct, frozen=True, kw_only=True):
    """The delivery that is due first, and how many wait with it."""

    seq: int
    attempts: int
    first_at: datetime
    next_at: datetime
    waiting: int


async def next_delivery(conn: AsyncConnection, organisation: UUID, webhook: UUID) -> NextDelivery | None:
    """Give the delivery that is due first, None where nothing is to be sent again."""
    async with conn.cursor(row_factory=class_row(NextDelivery)) as cursor:
        await cursor.execute(NEXT_DELIVERY, {"organisation": organisation, "webhook": webhook})
        return await cursor.fetchone()
