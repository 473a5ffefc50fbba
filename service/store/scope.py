"""Name the organisation a transaction works for; row security shows it no other."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

from service.store.connecting import Pool

SET_ORGANISATION: Final = "SELECT set_config('ledger.organisation', %(organisation)s::uuid::text, true)"
BEGIN_WRITING: Final = """
SELECT set_config('ledger.organisation', %(organisation)s::uuid::text, true),
    set_config('idle_in_transaction_session_timeout', '5s', true)
"""
FIX_SNAPSHOT: Final = "SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY"


async def set_organisation(conn: AsyncConnection, organisation: UUID) -> None:
    """Set the organisation until the transaction ends; the caller has opened one."""
    await conn.execute(SET_ORGANISATION, {"organisation": organisation})


async def fix_snapshot(conn: AsyncConnection) -> None:
    """Have every statement of a transaction that has only begun see the same, and none of them write."""
    await conn.execute(FIX_SNAPSHOT)


@asynccontextmanager
async def writing(pool: Pool, organisation: UUID) -> AsyncIterator[AsyncConnection]:
    """Give a connection in a READ COMMITTED transaction of the organisation; it commits when the block ends well.

    A process that says nothing in it for five seconds loses it: what it had locked is free again, if it was held still,
    before anybody has waited for a lock as long as they do.
    """
    async with pool.connection() as conn, conn.transaction():
        await conn.execute(BEGIN_WRITING, {"organisation": organisation})
        yield conn
