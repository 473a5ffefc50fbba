import asyncio
import random
from collections import Counter
from collections.abc import Awaitable, Callable
from datetime import datetime
from uuid import UUID

import psycopg
import pytest

from service.store.append import Outcome, append
from service.store.connecting import connect
from service.store.errors import StaleContext
from service.store.feed import feed
from service.store.load_kins import load_kins
from service.store.position import position, reading
from service.store.scope import set_organisation, writing
from tests.store.making import Desk, a_kin, an_entry, appended, rows

PATIENCE = 60
"""Seconds after which a test that hangs is one that fails."""


def dice_of(seed: int) -> random.Random:
    """Give dice that fall alike each time, so that a failure can be had again."""
    return random.Random(seed)  # noqa: S311 - nothing here is a secret


async def blocked(conn: psycopg.AsyncConnection, pid: int, task: asyncio.Task[object]) -> bool:
    """Wait until the task is done or its connection waits for a lock; say whether it waits."""
    while not task.done():
        found = await conn.execute("SELECT cardinality(pg_blocking_pids(%s)) > 0", (pid,))
        if await found.fetchone() == (True,):
            return True
    return False


async def test_twenty_racing_retries_record_once(desk: Desk) -> None:
    """Of twenty posts of one event at once one is recorded, and every other one is told which it was."""
    entry = an_entry("FX-1")
    async with asyncio.timeout(PATIENCE):
        outcomes = await asyncio.gather(*(appended(desk, [entry], [a_kin("FX-1")]) for _ in range(20)))
    assert Counter(outcome.outcome for [outcome] in outcomes) == {"recorded": 1, "taken": 19}
    assert {(outcome.id, outcome.seq) for [outcome] in outcomes} == {(entry.id, 1)}
    assert await rows(desk, "SELECT count(*) FROM ledger.event") == [(1,)]


async def test_racing_retries_about_no_unit_record_once(desk: Desk) -> None:
    """Without a kin to queue at, the log itself tells racing posts of one event apart."""
    entry, reasons = an_entry(), set[str]()

    async def post() -> Outcome:
        try:
            [outcome] = await appended(desk, [entry])
        except StaleContext as error:
            reasons.add(error.reason)
            [outcome] = await appended(desk, [entry])
        return outcome

    async with asyncio.timeout(PATIENCE):
        outcomes = await asyncio.gather(*(post() for _ in range(20)))
    assert Counter(outcome.outcome for outcome in outcomes) == {"recorded": 1, "taken": 19}
    assert {outcome.seq for outcome in outcomes} == {1}
    assert reasons <= {"taken"}


async def test_disjoint_kins_do_not_disturb_each_other(desk: Desk) -> None:
    """Events of different units posted at once are all recorded, none of them is to be decided again."""
    tags = [f"FX-{number}" for number in range(12)]
    async with asyncio.timeout(PATIENCE):
        outcomes = await asyncio.gather(*(appended(desk, [an_entry(tag)], [a_kin(tag)]) for tag in tags))
    assert {outcome.outcome for [outcome] in outcomes} == {"recorded"}
    assert sorted(outcome.seq or 0 for [outcome] in outcomes) == list(range(1, 13))


async def test_one_kin_taken_twice_at_once_is_written_once(desk: Desk) -> None:
    """Two decisions on the same state of a unit: the first is recorded, the second must be made again."""
    async with asyncio.timeout(PATIENCE):
        async with writing(desk.pool, desk.organisation) as first:
            [one] = await append(
                first, desk.organisation, context_seq=0, entries=[an_entry("FX-1")], kins=[a_kin("FX-1")]
            )
            second = asyncio.create_task(appended(desk, [an_entry("FX-1")], [a_kin("FX-1")]))
        [two] = await second
    assert (one.outcome, two.outcome) == ("recorded", "stale")


async def test_tag_taken_by_two_kins_at_once_goes_to_one(desk: Desk) -> None:
    """Two new kins that claim one tag at once: the one that comes second must be decided again."""
    async with (
        asyncio.timeout(PATIENCE),
        await connect(desk.database.owner_url) as watch,
        desk.pool.connection() as other,
    ):
        async with writing(desk.pool, desk.organisation) as first:
            kin = a_kin("FX-1", tags=("FX-1", "FX-2"))
            await append(first, desk.organisation, context_seq=0, entries=[an_entry("FX-1")], kins=[kin])
            second = asyncio.create_task(on(other, desk, "FX-2"))
            assert await blocked(watch, other.info.backend_pid, second)
        with pytest.raises(StaleContext) as refused:
            await second
    assert refused.value.reason == "tags"
    assert await rows(desk, "SELECT tag, kin FROM ledger.kinship ORDER BY tag") == [("FX-1", "FX-1"), ("FX-2", "FX-1")]
    assert await rows(desk, "SELECT kin FROM ledger.kin") == [("FX-1",)]


async def on(conn: psycopg.AsyncConnection, desk: Desk, tag: str | None = None) -> list[Outcome]:
    """Append one event on a connection of the test's own."""
    async with conn.transaction():
        await set_organisation(conn, desk.organisation)
        kins = () if tag is None else [a_kin(tag)]
        return await append(conn, desk.organisation, context_seq=0, entries=[an_entry(tag)], kins=kins)


async def test_shuffled_kins_never_wait_in_a_circle(desk: Desk) -> None:
    """Eight writers, each with calls on four of ten units in any order, finish without a deadlock and without a gap."""
    tags = [f"FX-{number}" for number in range(10)]
    recorded: list[int] = []

    async def write(dice: random.Random) -> None:
        for _ in range(15):
            chosen = dice.sample(tags, 4)
            async with writing(desk.pool, desk.organisation) as conn:
                loaded = await load_kins(conn, desk.organisation, chosen)
                kins = [a_kin(tag, loaded[tag].version if tag in loaded else 0) for tag in chosen]
                entries = [an_entry(tag) for tag in dice.sample(chosen, 4)]
                outcomes = await append(conn, desk.organisation, context_seq=0, entries=entries, kins=kins)
            recorded.extend(outcome.seq for outcome in outcomes if outcome.seq is not None)

    async with asyncio.timeout(PATIENCE):
        await asyncio.gather(*(write(dice_of(seed)) for seed in range(8)))
    assert sorted(recorded) == list(range(1, len(recorded) + 1))
    assert len(recorded) > 60
    assert await rows(desk, "SELECT last_seq FROM ledger.head") == [(len(recorded),)]
    assert await rows(desk, "SELECT count(*) FROM ledger.kin WHERE version = 0") == [(0,)]


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


async def lock_waited_for(watch: psycopg.AsyncConnection, holder: int) -> None:
    """Wait until somebody waits for a lock of this connection."""
    waiting = "SELECT EXISTS (SELECT FROM pg_stat_activity WHERE %s = ANY (pg_blocking_pids(pid)))"
    while await (await watch.execute(waiting, (holder,))).fetchone() != (True,):
        pass


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
