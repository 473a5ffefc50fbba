"""Name the organisation a transaction works for; row security shows it no other."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

from service.store.connecting import Pool

SET_ORGANISATION: Final = "SELECT set_config('ledger.organisation', %(organisation)s::uuid::text, true)"
FIX_SNAPSHOT: Final = "SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY"


async def set_organisation(conn: AsyncConnection, organisation: UUID) -> None:
    """Set the organisation until the transaction ends; the caller has opened one."""
    await conn.execute(SET_ORGANISATION, {"organisation": organisation})


async def fix_snapshot(conn: AsyncConnection) -> None:
    """Have every statement of a transaction that has only begun see the same, and none of them write."""
    await conn.execute(FIX_SNAPSHOT)


@asynccontextmanager
async def writing(pool: Pool, organisation: UUID) -> AsyncIterator[AsyncConnection]:
    """Give a connection in a READ COMMITTED transaction of the organisation; it commits when the block ends well."""
    async with pool.connection() as conn, conn.transaction():
        await set_organisation(conn, organisation)
        yield conn
