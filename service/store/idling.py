"""Let a transaction wait for us as long as our work takes: to fold all units of a large firm takes minutes.

Once the append holds its locks it lets it wait for seconds only (`ledger.append`). Where others are kept out from the
beginning (`ledger.enter`) a process that is held still keeps them out as long, so it is no more than work needs.
"""

from typing import Final

from psycopg import AsyncConnection

IDLE_LONG: Final = "SET LOCAL idle_in_transaction_session_timeout = '10min'"


async def idle_long(conn: AsyncConnection) -> None:
    """Let this transaction wait for ten minutes from here on, in which the database hears nothing of it."""
    await conn.execute(IDLE_LONG)
