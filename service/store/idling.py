"""Let a transaction wait for us as long as our work takes: to fold all units of a large firm takes minutes.

Once the append holds its locks it lets it wait for seconds only (`ledger.append`).
"""

from typing import Final

from psycopg import AsyncConnection

IDLE_LONG: Final = "SET LOCAL idle_in_transaction_session_timeout = '1h'"


async def idle_long(conn: AsyncConnection) -> None:
    """Let this transaction wait for an hour from here on, in which the database hears nothing of it."""
    await conn.execute(IDLE_LONG)
