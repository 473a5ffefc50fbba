"""Name the organisation a transaction works for; row security shows it no other."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

from service.store.connecting import Pool

SET_ORGANISATION: Final = "SELECT set_config('ledger.organisation', %(organisation)s::uuid::text, true)"


async def set_organisation(conn: AsyncConnection, organisation: UUID) -> None:
    """Set the organisation until the transaction ends; the caller has opened one."""
    await conn.execute(SET_ORGANISATION, {"organisation": organisation})


@asynccontextmanager
async def writing(pool: Pool, organisation: UUID) -> AsyncIterator[AsyncConnection]:
    """Give a connection in a READ COMMITTED transaction of the organisation; it commits when the block ends well."""
    async with pool.connection() as conn, conn.transaction():
        await set_organisation(conn, organisation)
        yield conn
