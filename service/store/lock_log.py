"""Keep an organisation's log as it is until the transaction ends: writers wait."""

from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

LOCK_LOG: Final = "SELECT pg_advisory_xact_lock(ledger.lock_key(%(organisation)s))"


async def lock_log(conn: AsyncConnection, organisation: UUID) -> None:
    """Wait for the writer at work, and let no other begin."""
    await conn.execute(LOCK_LOG, {"organisation": organisation})
