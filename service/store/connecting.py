"""Connections as every operation here expects them: UTC, autocommit outside explicit transactions, no endless waits."""

from typing import Final, TypeAlias

from psycopg import AsyncConnection
from psycopg_pool import AsyncConnectionPool

Pool: TypeAlias = AsyncConnectionPool[AsyncConnection]

OPTIONS: Final = "-c timezone=UTC -c lock_timeout=10s -c idle_in_transaction_session_timeout=60s"
NAME: Final = "respirator-ledger"


def make_pool(url: str, size: int) -> Pool:
    """Give a pool of at most `size` connections; the caller opens and closes it (`async with`)."""
    settings = {"autocommit": True, "application_name": NAME, "options": OPTIONS}
    return AsyncConnectionPool(url, kwargs=settings, min_size=min(2, size), max_size=size, open=False)


async def connect(url: str) -> AsyncConnection:
    """Open one connection, for a command."""
    return await AsyncConnection.connect(url, autocommit=True, application_name=NAME, options=OPTIONS)
