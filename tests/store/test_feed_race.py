"""The feed under writers that press: whoever follows it misses nothing, and a feed of serial numbers would."""

import asyncio
from collections.abc import Awaitable, Callable, Sequence
from contextlib import AsyncExitStack
from dataclasses import dataclass, field

import psycopg
import pytest

from service.store.append import append
from service.store.connecting import connect
from service.store.feed import feed
from service.store.scope import set_organisation, writing
from tests.store.making import Desk, an_entry, rows
from tests.store.racing import PATIENCE, waits

Write = Callable[[psycopg.AsyncConnection], Awaitable[object]]
Read = Callable[[int], Awaitable[list[int]]]

PRESS = (False, True, False, False, True, True, False, False)
"""Writers one after the other, and whether each gives up after it has written."""


@dataclass
class Writer:
    """One who writes, lingers, and then commits or gives up, as told."""

    conn: psycopg.AsyncConnection
    write: Write
    gives_up: bool
    drawn: asyncio.Event = field(default_factory=asyncio.Event)
    told: asyncio.Event = field(default_factory=asyncio.Event)

    async def run(self) -> None:
        """Write, and wait to be told before the end."""
        async with self.conn.transaction(force_rollback=self.gives_up):
            await self.write(self.conn)
            self.drawn.set()
            await self.told.wait()


class Press:
    """Writers of whom each writes before the one before it has ended, and a follower who looks at every step.

    Who could draw a number although the one before is still at work ends at once, ahead of it; else it waits its turn.
    """

    def __init__(self, watch: psycopg.AsyncConnection, read: Read) -> None:
        self.seen: list[int] = []
        self._watch = watch
        self._read = read
        self._at_work: tuple[Writer, asyncio.Task[None]] | None = None

    async def begin(self, writer: Writer) -> None:
        """Let another write, as far as it comes."""
        task = asyncio.create_task(writer.run())
        while not (writer.drawn.is_set() or await waits(self._watch, writer.conn.info.backend_pid)):
            if task.done():
                task.result()
        await self._follow()
        if self._at_work is not None and writer.drawn.is_set():
            await self._end(writer, task)
            return
        await self.end()
        await writer.drawn.wait()
        self._at_work = (writer, task)

    async def end(self) -> None:
        """Let the one at work come to its end."""
        if self._at_work is not None:
            await self._end(*self._at_work)
            self._at_work = None

    async def _end(self, writer: Writer, task: asyncio.Task[None]) -> None:
        writer.told.set()
        await task
        await self._follow()

    async def _follow(self) -> None:
        self.seen.extend(await self._read(self.seen[-1] if self.seen else 0))


async def pressed(desk: Desk, write: Write, read: Read, gives_up: Sequence[bool]) -> list[int]:
    """Give what a follower sees of writers who press."""
    async with AsyncExitStack() as stack:
        press = Press(await stack.enter_async_context(await connect(desk.database.owner_url)), read)
        for quits in gives_up:
            await press.begin(Writer(await stack.enter_async_context(desk.pool.connection()), write, quits))
        await press.end()
    return press.seen


@pytest.mark.parametrize("gives_up", [(False, False), PRESS], ids=["two", "many, of whom some give up"])
async def test_feed_shows_every_event_in_order(desk: Desk, gives_up: Sequence[bool]) -> None:
    """However writers press, and give up after they have written, a follower sees 1, 2, 3 ... to the end."""

    async def write(conn: psycopg.AsyncConnection) -> object:
        await set_organisation(conn, desk.organisation)
        return await append(conn, desk.organisation, context_seq=0, entries=[an_entry(), an_entry()])

    async def read(after: int) -> list[int]:
        async with writing(desk.pool, desk.organisation) as conn:
            page = await feed(conn, desk.organisation, after=after, limit=100)
        return [stored.recorded.seq for stored in page]

    last = 2 * gives_up.count(False)
    async with asyncio.timeout(PATIENCE):
        assert await pressed(desk, write, read, gives_up) == list(range(1, last + 1))
    assert await rows(desk, "SELECT last_seq FROM ledger.head") == [(last,)]
    moments = await rows(desk, "SELECT recorded_at FROM ledger.event ORDER BY seq")
    assert (len(moments), moments) == (last, sorted(moments))


@pytest.mark.parametrize(
    ("gives_up", "seen"),
    [((False, False), [2]), (PRESS, [3, 4, 7, 8])],
    ids=["two", "many, of whom some give up"],
)
async def test_feed_of_serial_numbers_loses_events(desk: Desk, gives_up: Sequence[bool], seen: list[int]) -> None:
    """The same race against a table numbered by a sequence loses what was drawn first and committed last."""
    async with await connect(desk.database.owner_url) as owner:
        await owner.execute("CREATE SCHEMA IF NOT EXISTS naive")
        await owner.execute("DROP TABLE IF EXISTS naive.event")
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
        assert await pressed(desk, write, read, gives_up) == seen
