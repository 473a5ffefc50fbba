"""What cannot be undercut: the framework's own work, reading a post, and judging it, each alone and without waiting.

They are what one core spends on an event before anything is written, answered or waited for. No service that judges in
this language on this framework answers more often than they allow, however it writes.
"""

from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from time import process_time
from typing import TypeVar
from uuid import UUID

import msgspec

from service.assessing.moment import asked
from service.domain.caller import Caller
from service.domain.event import AssetEvent
from service.domain.kin import resume
from service.domain.recorded import Recorded
from service.domain.snapshot import Snapshot
from service.domain.world import World
from service.ledger import Ledger
from service.recording.admission import read
from service.recording.incoming import Incoming, Read, Sender
from service.recording.loading import load_drafts
from service.store.connecting import make_pool
from tests.bench.firm import beginnings, checks, made_firm, made_key, tag_of
from tests.bench.in_process import take
from tests.bench.posting import REACH
from tests.bench.sides import Load, best_by_hand, make_table, nothing
from tests.databases.clone import Database
from tests.http.doors import OURS

CONNECTIONS = 128
T = TypeVar("T")


async def limits(database: Database, load: Load) -> list[str]:
    """Measure each, and give what one core allows beside what the handler by hand answers in the same run."""
    make_table(database)
    hand, _ = await best_by_hand(database, load, CONNECTIONS)
    framework = (await nothing(database, load, CONNECTIONS)).service_ms
    await made_firm(database.owner_url)
    reading, judging = await _alone(database, load, await made_key(database.owner_url))
    spent = framework + reading + judging
    allowed, wanted = 1e3 / spent, REACH[CONNECTIONS]
    parts = (("the framework", framework), ("reading", reading), ("judging and folding", judging))
    by_hand = f"{hand.told.per_second:>10,.0f} events a second: {wanted:g} times that is wanted"
    return [
        *(f"{name:34}{1e3 * took:>10,.0f} microseconds of processor an event" for name, took in parts),
        f"{'together':34}{1e3 * spent:>10,.0f} microseconds: one core allows {allowed:,.0f} events a second",
        f"{'by hand':34}{by_hand}, {allowed / hand.told.per_second:.2f} times one core allows",
    ]


async def _alone(database: Database, load: Load, key: UUID) -> tuple[float, float]:
    """Give the milliseconds of processor that an event takes to be read, and to be judged and folded."""
    caller = Caller(organisation=OURS, key=key, role="administrator")
    async with make_pool(database.app_url, 2) as pool:
        ledger = Ledger(pool=pool, clock=lambda: datetime.now(UTC))
        for batch in beginnings(load.units):
            await take(ledger, caller, [msgspec.json.encode(one) for one in batch], imported=True)
        bodies = list(checks(load.units, load.count, seed=3))
        async with asked(ledger, caller) as question:
            tags = [tag_of(number) for number in range(load.units)]
            drafts = await load_drafts(question.conn, question.organisation, tags=tags)
            states = {draft.name: state.snapshot for draft in drafts if (state := draft.state()) is not None}
            now, world = question.position.now, question.world
    sender = Sender(key=key, role=caller.role, sites=None, received_at=now, sent_at=now)
    reading, told = _timed(lambda: [read(Incoming(raw=body, sender=sender)) for body in bodies])
    rows = [_row(one, place, now) for place, one in enumerate(told, 1_000_000)]
    judging, _ = _timed(lambda: _folded(rows, states, world))
    return 1e3 * reading / len(bodies), 1e3 * judging / len(bodies)


def _timed(work: Callable[[], T]) -> tuple[float, T]:
    began = process_time()
    made = work()
    return process_time() - began, made


def _row(one: Read, seq: int, now: datetime) -> Recorded:
    assert one.event is not None, one.refused
    return Recorded(
        event=one.event,
        organisation=OURS,
        seq=seq,
        received_at=now,
        recorded_at=now,
        sent_at=now,
        key=one.incoming.sender.key,
    )


def _folded(rows: Sequence[Recorded], states: dict[str, Snapshot | None], world: World) -> None:
    """Fold each event on from where its unit was left, as the service does. Raises AssertionError where it cannot."""
    for row in rows:
        assert isinstance(row.event, AssetEvent)
        tag = row.event.asset
        left = states[tag]
        assert left is not None
        story = resume(left, [row], (tag,), world.fresh())
        assert story is not None, tag
        states[tag] = story.snapshot
