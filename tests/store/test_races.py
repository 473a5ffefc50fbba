import asyncio
import random
from collections import Counter

import psycopg
import pytest

from service.store.append import Outcome, append
from service.store.connecting import connect
from service.store.errors import StaleContext
from service.store.load_kins import load_kins
from service.store.lock_kins import lock_kins
from service.store.lock_log import lock_log
from service.store.reject import reject
from service.store.rewrite import rewrite
from service.store.scope import set_organisation, writing
from service.store.wipe_derived import wipe_derived
from tests.store.making import Desk, a_kin, a_rejection, an_entry, appended, rows
from tests.store.racing import PATIENCE, blocked, dice_of


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
                kins = [a_kin(tag, expected=loaded[tag].version if tag in loaded else 0) for tag in chosen]
                entries = [an_entry(tag) for tag in dice.sample(chosen, 4)]
                outcomes = await append(conn, desk.organisation, context_seq=0, entries=entries, kins=kins)
            recorded.extend(outcome.seq for outcome in outcomes if outcome.seq is not None)

    async with asyncio.timeout(PATIENCE):
        await asyncio.gather(*(write(dice_of(seed)) for seed in range(8)))
    assert sorted(recorded) == list(range(1, len(recorded) + 1))
    assert len(recorded) > 60
    assert await rows(desk, "SELECT last_seq FROM ledger.head") == [(len(recorded),)]
    assert await rows(desk, "SELECT count(*) FROM ledger.kin WHERE version = 0") == [(0,)]


async def test_rebuild_waits_for_writers_and_they_for_it(desk: Desk) -> None:
    """Writers and one who throws everything derived away take turns, and nobody waits in a circle."""
    recorded: list[int] = []
    rounds_left = 4

    async def write(dice: random.Random) -> None:
        while rounds_left:
            tags = dice.sample(["FX-1", "FX-2", "FX-3", "FX-4"], 2)
            async with writing(desk.pool, desk.organisation) as conn:
                loaded = await load_kins(conn, desk.organisation, tags)
                kins = [a_kin(tag, expected=loaded[tag].version if tag in loaded else 0) for tag in tags]
                entries = [an_entry(tag) for tag in tags]
                outcomes = await append(conn, desk.organisation, context_seq=0, entries=entries, kins=kins)
            recorded.extend(outcome.seq for outcome in outcomes if outcome.seq is not None)

    async def throw_away() -> None:
        nonlocal rounds_left
        async with await connect(desk.database.owner_url) as owner:
            while rounds_left:
                async with owner.transaction():
                    await set_organisation(owner, desk.organisation)
                    await lock_log(owner, desk.organisation)
                    await wipe_derived(owner, desk.organisation)
                    await rewrite(owner, desk.organisation, context_seq=0, kins=[a_kin("FX-1"), a_kin("FX-2")])
                rounds_left -= 1

    async with asyncio.timeout(PATIENCE):
        await asyncio.gather(throw_away(), *(write(dice_of(seed)) for seed in range(6)))
    assert sorted(recorded) == list(range(1, len(recorded) + 1))


async def test_writers_wait_while_the_log_is_locked(desk: Desk) -> None:
    """Who comes while a rebuild is at work waits before it locks anything."""
    async with (
        asyncio.timeout(PATIENCE),
        await connect(desk.database.owner_url) as watch,
        await connect(desk.database.owner_url) as owner,
        desk.pool.connection() as other,
    ):
        async with owner.transaction():
            await set_organisation(owner, desk.organisation)
            await lock_log(owner, desk.organisation)
            waiting = asyncio.create_task(on(other, desk, "FX-1"))
            assert await blocked(watch, other.info.backend_pid, waiting)
            held = "SELECT count(*) FROM pg_locks WHERE pid = %s AND locktype IN ('advisory', 'tuple') AND granted"
            assert await (await watch.execute(held, (other.info.backend_pid,))).fetchone() == (0,)
        [outcome] = await waiting
    assert outcome.outcome == "recorded"


async def test_report_and_event_of_a_unit_take_turns(desk: Desk) -> None:
    """Who keeps a report and rewrites its unit waits for the unit first, so that no writer waits for it in a circle."""
    async with asyncio.timeout(PATIENCE), await connect(desk.database.owner_url) as watch:
        [first] = await appended(desk, [an_entry("FX-1")], [a_kin("FX-1")])
        async with desk.pool.connection() as other:
            async with writing(desk.pool, desk.organisation) as conn:
                kins = [a_kin("FX-1", first)]
                await append(conn, desk.organisation, context_seq=0, entries=[an_entry("FX-1")], kins=kins)
                report = asyncio.create_task(reported(other, desk))
                assert await blocked(watch, other.info.backend_pid, report)
            await report
    assert await rows(desk, "SELECT snapshot FROM ledger.kin") == [(b"reported",)]


async def reported(conn: psycopg.AsyncConnection, desk: Desk) -> None:
    """Keep a report and rewrite its unit."""
    async with conn.transaction():
        await set_organisation(conn, desk.organisation)
        await lock_kins(conn, desk.organisation, ["FX-1", "FX-2"])
        await reject(conn, desk.organisation, a_rejection(tag="FX-1"))
        loaded = await load_kins(conn, desk.organisation, ["FX-1"])
        kin = a_kin("FX-1", expected=loaded["FX-1"].version, snapshot=b"reported")
        assert [row.written for row in await rewrite(conn, desk.organisation, context_seq=0, kins=[kin])] == [True]
