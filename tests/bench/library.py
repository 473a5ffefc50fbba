"""Recording in process beside a general-purpose library of event sourcing: the same events, on histories as long.

One by one, both load the unit, append an event and commit: for one caller, and for 32 at the same time. In bulk, both
are given 500 events of random units: ours takes them in one call, the library loads the units and saves them all in one
call, which is timed by itself besides. The library keeps what it is told and judges nothing. It can insert in two ways;
the faster one counts.
"""

import asyncio
from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from functools import partial
from itertools import chain
from zlib import crc32

import msgspec
import psycopg
from psycopg.sql import SQL, Identifier

from service.domain.caller import Caller
from service.ledger import Ledger
from service.store.connecting import make_pool
from tests.bench.batches import cut
from tests.bench.comparing import Line
from tests.bench.firm import analyse, checks, made_firm, made_key
from tests.bench.histories import histories, reference
from tests.bench.in_process import take
from tests.bench.library_unit import Unit, Units, units_of
from tests.bench.sides import Load
from tests.bench.watch import HEAD, Watch
from tests.databases.clone import Database
from tests.http.doors import OURS
from tests.http.firm import Message

SINGLES = 10
"""Of so many events in bulk there is one that is recorded by itself."""
CALLERS = 32
"""So many callers at once."""


async def library(database: Database, load: Load) -> list[str]:
    """Measure both sides, and give the lines."""
    ours = await recorded(database, load)
    theirs = [saved(database, load, by_function=by_function) for by_function in (False, True)]
    faster = [max(both, key=lambda way: way.per_second) for both in zip(*theirs, strict=True)]
    lines = [
        Line(
            what=our.name,
            ours=our.per_second,
            against=their.name,
            theirs=their.per_second,
            unit="events/s",
            reach=reach,
        ).told()
        for our, their, reach in zip((*ours, ours[-1]), faster, (5, 5, 3, 3), strict=True)
    ]
    return [HEAD, *(way.told() for way in chain(ours, *theirs)), *lines]


async def recorded(database: Database, load: Load) -> tuple[Watch, Watch, Watch]:
    """Record one by one, by one caller and by many at once, and in bulk."""
    await made_firm(database.owner_url)
    caller = Caller(organisation=OURS, key=await made_key(database.owner_url), role="administrator")
    single, abreast, bulk = (
        Watch(f"recorded {what}", load.backend)
        for what in ("one by one", f"one by one, {CALLERS} callers", "500 at once")
    )
    async with make_pool(database.app_url, 2) as pool:
        ledger = Ledger(pool=pool, clock=lambda: datetime.now(UTC))
        await take(ledger, caller, [msgspec.json.encode(one) for one in reference()], imported=True)
        told = (msgspec.json.encode(one) for history in histories(load.units) for one in history)
        for batch in cut(told):
            await take(ledger, caller, batch, imported=True)
        analyse(database.owner_url)
        bodies = list(checks(load.units, load.count // SINGLES, seed=1))
        with single.running(len(bodies)):
            for body in bodies:
                await take(ledger, caller, [body])
        bodies = list(checks(load.units, load.count, seed=3))
        with abreast.running(len(bodies)):
            waiting = iter(bodies)
            await asyncio.gather(*(one_by_one(ledger, caller, waiting) for _ in range(CALLERS)))
        for batch in cut(checks(load.units, load.count, seed=2)):
            with bulk.running(len(batch)):
                await take(ledger, caller, batch)
    return single, abreast, bulk


async def one_by_one(ledger: Ledger, caller: Caller, waiting: Iterator[bytes]) -> None:
    """Record what waits, one after the other, as others do meanwhile."""
    for body in waiting:
        await take(ledger, caller, [body])


def saved(database: Database, load: Load, *, by_function: bool) -> tuple[Watch, Watch, Watch, Watch]:
    """Save one by one, by one caller and by many at once, and in bulk, in a schema of its own."""
    schema = "by_function" if by_function else "by_statements"
    how = "a function" if by_function else "statements"
    single, abreast, bulk, alone = (
        Watch(f"library ({how}): {what}", load.backend)
        for what in ("load, save one", f"the same, {CALLERS} callers", "load, save 500", "save 500 alone")
    )
    with psycopg.connect(database.owner_url, autocommit=True) as conn:
        conn.execute(SQL("CREATE SCHEMA {}").format(Identifier(schema)))
    with units_of(database.owner_url, schema, by_function=by_function) as app:
        for history in histories(load.units):
            app.save(begun(history))
        analyse(database.owner_url)
        said = decoded(checks(load.units, load.count // SINGLES, seed=1))
        with single.running(len(said)):
            save_each(app, said)
        said = decoded(checks(load.units, load.count // SINGLES, seed=3))
        with abreast.running(len(said)), ThreadPoolExecutor(CALLERS) as callers:
            list(callers.map(partial(save_each, app), shared(said)))
        for batch in cut(checks(load.units, load.count, seed=2)):
            every = decoded(batch)
            with bulk.running(len(every)):
                units = checked_units(app, every)
                with alone.running(len(every)):
                    app.save(*units)
    return single, abreast, bulk, alone


def shared(said: Sequence[Message]) -> list[list[Message]]:
    """Share messages out, those of a unit to one caller: the library refuses the second of two at once."""
    shares: list[list[Message]] = [[] for _ in range(CALLERS)]
    for one in said:
        shares[crc32(one["asset"].encode()) % CALLERS].append(one)
    return shares


def save_each(app: Units, said: Sequence[Message]) -> None:
    """Load and save for one message after the other."""
    for one in said:
        app.save(*checked_units(app, [one]))


def begun(history: Sequence[Message]) -> Unit:
    """Make a unit with its history."""
    registered, issued, *checks_made = history
    unit = Unit(tag=registered["asset"], said=registered)
    unit.issue(issued)
    for one in checks_made:
        unit.check(one)
    return unit


def decoded(bodies: Iterable[bytes]) -> list[Message]:
    """Read messages."""
    return [msgspec.json.decode(body) for body in bodies]


def checked_units(app: Units, said: Sequence[Message]) -> list[Unit]:
    """Load each unit that is told of, and let it be checked."""
    units: dict[str, Unit] = {}
    for one in said:
        tag = one["asset"]
        if tag not in units:
            units[tag] = app.repository.get(Unit.create_id(tag))
        units[tag].check(one)
    return list(units.values())
