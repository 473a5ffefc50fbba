import asyncio
import sys
from asyncio.subprocess import PIPE
from datetime import datetime
from pathlib import Path
from signal import SIGCONT, SIGSTOP
from uuid import UUID

import pytest
from psycopg import AsyncConnection

from service.store.append import append
from service.store.connecting import connect
from service.store.enter import entering
from service.store.feed import feed
from service.store.position import position, reading
from service.store.scope import set_organisation, writing
from tests.store.making import NOON, Desk, an_entry, appended, rows
from tests.store.racing import PATIENCE, lock_waited_for

ROOT = Path(__file__).parents[2]


async def test_position_waits_for_the_writer_at_work(desk: Desk) -> None:
    """A reader that comes while an event has its moment but is not committed waits, and then sees it."""
    async with asyncio.timeout(PATIENCE), await connect(desk.database.owner_url) as watch:
        async with writing(desk.pool, desk.organisation) as conn:
            [outcome] = await append(conn, desk.organisation, context_seq=0, entries=[an_entry()])
            asked = asyncio.create_task(positioned(desk))
            await lock_waited_for(watch, conn.info.backend_pid)
            assert not asked.done()
        now, seqs = await asked
    assert outcome.recorded_at is not None
    assert now >= outcome.recorded_at
    assert seqs == [1]


async def positioned(desk: Desk) -> tuple[datetime, list[int]]:
    """Give the moment of a reading and the numbers it sees."""
    async with reading(desk.pool, desk.organisation) as (conn, where):
        page = await feed(conn, desk.organisation, after=0, limit=1000)
        return where.now, [stored.recorded.seq for stored in page]


async def test_position_without_the_lock_would_lie(desk: Desk) -> None:
    """Looked up without waiting, the clock is past the moment of an event that is not seen yet."""
    async with desk.pool.connection() as conn, conn.transaction():
        await set_organisation(conn, desk.organisation)
        [outcome] = await append(conn, desk.organisation, context_seq=0, entries=[an_entry()])
        async with writing(desk.pool, desk.organisation) as other:
            where = await position(other, desk.organisation)
    assert outcome.recorded_at is not None
    assert where.now > outcome.recorded_at
    assert where.head_seq == 0


async def test_nothing_is_recorded_at_or_before_a_position(desk: Desk) -> None:
    """Under many writers each reading holds exactly what is ever recorded at or before its moment."""
    positions = []

    async def write() -> None:
        for _ in range(15):
            await appended(desk, [an_entry()])

    async def read() -> None:
        for _ in range(15):
            async with reading(desk.pool, desk.organisation) as (conn, where):
                page = await feed(conn, desk.organisation, after=0, limit=1000)
                assert len(page) == where.head_seq
                positions.append((where.now, where.head_seq))

    async with asyncio.timeout(PATIENCE):
        await asyncio.gather(*(write() for _ in range(6)), *(read() for _ in range(4)))
    moments = [row[0] for row in await rows(desk, "SELECT recorded_at FROM ledger.event ORDER BY seq")]
    assert len(moments) == 90
    assert len(positions) == 60
    for now, head_seq in positions:
        assert sum(moment <= now for moment in moments) == head_seq


async def test_reading_leaves_no_lock_behind(desk: Desk) -> None:
    """Whatever ends a reading, and while one goes on, the writers' lock is free."""
    unknown = UUID(int=0)
    with pytest.raises(LookupError):
        async with reading(desk.pool, unknown):
            pass
    with pytest.raises(ZeroDivisionError):
        async with reading(desk.pool, desk.organisation):
            raise ZeroDivisionError
    free = "SELECT pg_try_advisory_xact_lock(ledger.lock_key(%s)), pg_try_advisory_xact_lock(ledger.lock_key(%s))"
    async with reading(desk.pool, desk.organisation), desk.pool.connection() as other:
        found = await other.execute(free, (desk.organisation, unknown))
        assert await found.fetchone() == (True, True)
    [outcome] = await appended(desk, [an_entry()])
    assert outcome.outcome == "recorded"


READER = """
import asyncio, sys
from uuid import UUID
from service.store.connecting import make_pool
from service.store.position import reading

async def read(url, organisation):
    async with make_pool(url, 2) as pool, reading(pool, organisation) as (_, where):
        print(where.head_seq, flush=True)

asyncio.run(read(sys.argv[1], UUID(sys.argv[2])))
"""


async def test_reader_held_still_keeps_no_writer_waiting(desk: Desk) -> None:
    """A process stopped while it waits for the lock lets go of it all the same, and reads on when it goes on."""
    asks = [sys.executable, "-c", READER, desk.database.app_url, str(desk.organisation)]
    async with asyncio.timeout(PATIENCE), await connect(desk.database.owner_url) as watch:
        async with writing(desk.pool, desk.organisation) as conn:
            await append(conn, desk.organisation, context_seq=0, entries=[an_entry()])
            reader = await asyncio.create_subprocess_exec(*asks, stdout=PIPE, cwd=ROOT)
            await lock_waited_for(watch, conn.info.backend_pid)
            reader.send_signal(SIGSTOP)
        [outcome] = await appended(desk, [an_entry()])
        reader.send_signal(SIGCONT)
        said, _ = await reader.communicate()
    assert outcome.seq == 2
    assert (reader.returncode, said) == (0, b"1\n")


async def test_writer_that_falls_silent_loses_what_it_locked(desk: Desk) -> None:
    """With something written, the database waits for the rest of a transaction less long than others wait for it."""
    async with writing(desk.pool, desk.organisation) as conn:
        assert await silence(conn) < await patience(conn)
    async with entering(desk.pool, desk.organisation, [], NOON) as (conn, begun):
        assert await silence(conn) > await patience(conn)
        await append(conn, desk.organisation, context_seq=begun.context_seq, entries=[an_entry()])
        assert await silence(conn) < await patience(conn)


async def silence(conn: AsyncConnection) -> int:
    """Give how many milliseconds a transaction may say nothing."""
    return await setting(conn, "idle_in_transaction_session_timeout")


async def patience(conn: AsyncConnection) -> int:
    """Give how many milliseconds a lock is waited for."""
    return await setting(conn, "lock_timeout")


async def setting(conn: AsyncConnection, name: str) -> int:
    """Give what a setting is in the transaction."""
    found = await (await conn.execute("SELECT setting FROM pg_settings WHERE name = %s", (name,))).fetchone()
    assert found is not None
    return int(found[0])
