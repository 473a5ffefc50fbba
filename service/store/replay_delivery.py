"""Have a dead letter sent again, as if for the first time."""

from datetime import datetime
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

REPLAY_DELIVERY: Final = """
UPDATE ledger.webhook_delivery SET state = 'waiting', attempts = 0, next_at = %(at)s
WHERE organisation = %(organisation)s AND webhook = %(webhook)s AND seq = %(seq)s AND state = 'dead'
"""


async def replay_delivery(conn: AsyncConnection, organisation: UUID, webhook: UUID, seq: int, at: datetime) -> bool:
    """Have it sent at a moment; False where there is no dead letter of the seq."""
    parameters = {"organisation": organisation, "webhook": webhook, "seq": seq, "at": at}
    return (await conn.execute(REPLAY_DELIVERY, parameters)).rowcount == 1
