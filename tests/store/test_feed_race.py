import asyncio
import random
from collections.abc import Awaitable, Callable

import psycopg

from service.store.append import append
from service.store.connecting import connect
from service.store.feed import feed
from service.store.scope import set_organisation, writing
from tests.store.making import Desk, an_entry, rows
from tests.store.racing import PATIENCE, blocked, dice_of

Write = Callable[[psycopg.AsyncConnection], Awaitable[object]]
Read = Callable[[int], Awaitable[list[int]]]


async def overtaken(desk: Desk, write: Write, read: Read) -> list[int]:
    """Follow a feed while the second writer tries to commit before the first, which has drawn its number already."""
    seen: list[int] = []

    async def follow() -> None:
        seen.extend(await read(seen[-1] if seen else 0))

    async with (
        await connect(desk.database.owner_url) as watch,
        desk.pool.connection() as first,
        desk.pool.connection() as other,
    ):
        for _ in range(3):
            async with first.transaction():
                await write(first)
                second = asyncio.create_task(committed(other, write))
                await blocked(watch, other.info.backend_pid, second)
                await follow()
            await second
            await follow()
    return seen


async def committed(conn: psycopg.AsyncConnection, write: Write) -> None:
    """Write in a transaction of its own."""
    async with conn.transaction():
        await write(conn)


async def test_feed_shows_every_event_in_order(desk: Desk) -> None:
    """However a second writer presses, whoever follows the feed sees every number, in order."""

    async def write(conn: psycopg.AsyncConnection) -> object:
        await set_organisation(conn, desk.organisation)
        return await append(conn, desk.organisation, context_seq=0, entries=[an_entry()])

    async def read(after: int) -> list[int]:
        async with writing(desk.pool, desk.organisation) as conn:
            page = await feed(conn, desk.organisation, after=after, limit=100)
        return [stored.recorded.seq for stored in page]

    async with asyncio.timeout(PATIENCE):
        assert await overtaken(desk, write, read) == [1, 2, 3, 4, 5, 6]


async def test_feed_of_serial_numbers_loses_events(desk: Desk) -> None:
    """The same race against a table numbered by a sequence loses what was drawn first and committed last."""
    async with await connect(desk.database.owner_url) as owner:
        await owner.execute("CREATE SCHEMA IF NOT EXISTS naive")
        await owner.execute("CREATE TABLE naive.event (seq bigint GENERATED ALWAYS AS IDENTITY, written text)")
        await owner.execute("GRANT USAGE ON SCHEMA naive TO PUBLIC")
        await owner.execute("GRANT SELECT, INSERT ON naive.event TO PUBLIC")

    async def write(conn: psycopg.AsyncConnection) -> object:
        return await conn.execute("INSERT INTO naive.event (written) VALUES ('an event')")

    async def read(after: int) -> list[int]:
        async with desk.pool.connection() as conn:
            found = await conn.execute("SELECT seq FROM naive.event WHERE seq > %s ORDER BY seq", (after,))
            return [row[0] for row in await found.fetchall()]

    async with asyncio.timeout(PATIENCE):
        assert await overtaken(desk, write, read) == [2, 4, 6]


async def test_feed_is_gap_free_under_many_writers(desk: Desk) -> None:
    """With writers that linger between counter and commit, or give up there, a follower sees 1, 2, 3 ... to the end."""
    seen: list[int] = []
    writing_still = 8

    async def write(dice: random.Random) -> None:
        nonlocal writing_still
        for _ in range(10):
            async with desk.pool.connection() as conn, conn.transaction(force_rollback=dice.random() < 0.2):
                await set_organisation(conn, desk.organisation)
                await append(conn, desk.organisation, context_seq=0, entries=[an_entry(), an_entry()])
                await conn.execute("SELECT pg_sleep(%s)", (dice.random() * 0.01,))
        writing_still -= 1

    async def follow() -> None:
        while True:
            last_look = not writing_still
            async with writing(desk.pool, desk.organisation) as conn:
                page = await feed(conn, desk.organisation, after=seen[-1] if seen else 0, limit=7)
            seen.extend(stored.recorded.seq for stored in page)
            if last_look and not page:
                return

    async with asyncio.timeout(PATIENCE):
        await asyncio.gather(follow(), *(write(dice_of(seed)) for seed in range(8)))
    assert seen == list(range(1, len(seen) + 1))
    assert await rows(desk, "SELECT last_seq FROM ledger.head") == [(len(seen),)]
    moments = await rows(desk, "SELECT recorded_at FROM ledger.event ORDER BY seq")
    assert moments == sorted(moments)
