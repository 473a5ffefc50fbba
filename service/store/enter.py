"""Enter a transaction of an organisation, with all that every decision in it begins with, in one call."""

from collections.abc import AsyncIterator, Iterable
from contextlib import asynccontextmanager
from datetime import datetime
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection
from psycopg.rows import class_row

from service.store.arrays import Uuids
from service.store.connecting import Pool
from service.store.position import NoOrganisation, Position

ENTER: Final = """
SELECT now, head_seq, head_recorded_at, context_seq, ended, anything_waits
FROM ledger.enter(%(organisation)s::uuid, %(keys)s::uuid[], %(now)s::timestamptz, %(alone)s::boolean)
"""


class Entered(Position, frozen=True):
    """Where the log stands (`now` promises nothing), which keys have ended, and whether any message waits."""

    ended: list[UUID]
    anything_waits: bool


@asynccontextmanager
async def entering(
    pool: Pool, organisation: UUID, keys: Iterable[UUID], now: datetime, *, alone: bool = False
) -> AsyncIterator[tuple[AsyncConnection, Entered]]:
    """Give a connection in a READ COMMITTED transaction of the organisation, and what it begins with.

    It commits when the block ends well. With `alone` no other process records anything for the organisation meanwhile.
    Raises NoOrganisation.
    """
    asked = {"organisation": organisation, "keys": Uuids(keys), "now": now, "alone": alone}
    async with pool.connection() as conn, conn.transaction():
        async with conn.cursor(row_factory=class_row(Entered)) as cursor:
            await cursor.execute(ENTER, asked)
            entered = await cursor.fetchone()
        if entered is None:
            raise NoOrganisation(organisation)
        yield conn, entered
