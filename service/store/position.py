"""Where an organisation's log stands: the moment up to which everything is known, and the newest seq.

Writers draw seq and recorded_at under the organisation's lock and hold it up to commit. A reader takes it shared, which
waits for the writer at work, fixes its snapshot and lets go at once: whatever is not in that snapshot will be recorded
later than `now`. That needs a database clock that is never set back while the service runs (slewing is fine).

A replica shares no lock with the writers, and what is not in its snapshot may have been recorded long ago. There `now`
is the newest moment that the snapshot itself has, since none that is to come can be earlier.

All of it goes to the database in one message, so that a reader that is held still meanwhile holds up no writer.
"""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from datetime import datetime
from typing import Final
from uuid import UUID

import msgspec
from psycopg import AsyncClientCursor, AsyncConnection, AsyncCursor
from psycopg.rows import class_row

from service.store.connecting import Pool
from service.store.scope import SET_ORGANISATION

LOCK: Final = "SELECT pg_advisory_lock_shared(ledger.lock_key(%(organisation)s))"
UNLOCK: Final = "SELECT pg_advisory_unlock_shared(ledger.lock_key(%(organisation)s))"
BEGIN: Final = "BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY"

# One microsecond back, because the next writer may draw the very moment this statement reads.
POSITION: Final = """
SELECT CASE WHEN m.replica THEN h.last_recorded_at ELSE m.clock END AS now, m.clock,
    h.last_seq AS head_seq, h.last_recorded_at AS head_recorded_at, h.context_seq, m.replica
FROM ledger.head h
CROSS JOIN LATERAL (
    SELECT greatest(h.last_recorded_at, clock_timestamp() - interval '1 microsecond') AS clock,
        pg_is_in_recovery() AS replica
    OFFSET 0) m
WHERE h.organisation = %(organisation)s
"""


# The lock is waited for in a transaction of its own: a snapshot that waits with it would be as old as the wait.
ENTER: Final = ("BEGIN", LOCK, "COMMIT", BEGIN, SET_ORGANISATION, POSITION, UNLOCK)


class Position(msgspec.Struct, frozen=True):
    """`now`: nothing will ever be recorded at or before it that the snapshot does not hold.

    `head_seq` is the newest event, `head_recorded_at` the newest moment given to anything, `context_seq` the newest
    event that decisions have to know.
    """

    now: datetime
    head_seq: int
    head_recorded_at: datetime
    context_seq: int


class Seen(Position, frozen=True):
    """The position of a snapshot: what the database's `clock` says, later than `now` in a `replica` alone."""

    clock: datetime
    replica: bool


class NoOrganisation(LookupError):
    """There is no such organisation."""


@asynccontextmanager
async def reading(pool: Pool, organisation: UUID) -> AsyncIterator[tuple[AsyncConnection, Seen]]:
    """Give a connection whose every statement sees the log as it stood at the position, and the position."""
    async with pool.connection() as conn:
        before = conn.autocommit
        await conn.set_autocommit(True)
        position = await _enter(conn, organisation)
        try:
            yield conn, position
        finally:
            await conn.rollback()
            await conn.set_autocommit(before)


async def _enter(conn: AsyncConnection, organisation: UUID) -> Seen:
    """Fix the snapshot under the lock. On any failure close the connection, so that no lock outlives it."""
    try:
        async with AsyncClientCursor(conn, row_factory=class_row(Seen)) as cursor:
            await cursor.execute("; ".join(ENTER), {"organisation": organisation})
            await cursor.set_result(ENTER.index(POSITION))
            return await _found(cursor, organisation)
    except BaseException:  # a request that is cancelled, too
        await conn.close()
        raise


async def position(conn: AsyncConnection, organisation: UUID) -> Seen:
    """Give the position in the caller's transaction. Without the lock (`reading`) `now` promises nothing."""
    async with conn.cursor(row_factory=class_row(Seen)) as cursor:
        await cursor.execute(POSITION, {"organisation": organisation})
        return await _found(cursor, organisation)


async def _found(cursor: AsyncCursor[Seen], organisation: UUID) -> Seen:
    found = await cursor.fetchone()
    if found is None:
        raise NoOrganisation(organisation)
    return found
