"""Keep an organisation's log, and all that is derived of it, as it is until the transaction ends, as the owner."""

from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

LOCK_LOG: Final = "SELECT ledger.stop_writers(%(organisation)s::uuid)"


async def lock_log(conn: AsyncConnection, organisation: UUID) -> None:
    """Wait for the writers at work, and let no other begin. Nothing else of the log was locked by the transaction."""
    await conn.execute(LOCK_LOG, {"organisation": organisation})
