"""Killed at any moment, the service or the database or both: no acknowledged event is lost, none is there twice.

A kill counts only with 32 requests or more in flight; the senders' journal of what was acknowledged is the judge.
`CRASHES=200` is the long mode.
"""

import asyncio
import os
from collections.abc import Callable, Iterator
from pathlib import Path
from random import Random
from typing import NamedTuple

from service.rebuild import differences
from service.store.connecting import connect
from service.store.scope import set_organisation
from service.verify import Fault, verify
from tests.bench.firm import checks, made_firm, settle_in
from tests.faults.database import Postgres, migrated, packaged
from tests.faults.senders import Journal, Sender
from tests.faults.service import Service, serving
from tests.http.doors import OURS

KILLS = int(os.environ.get("CRASHES", "20"))
SENDERS = 48
IN_FLIGHT = 32
UNITS = 40
LOGGED = "SELECT id::text, seq FROM ledger.event WHERE device IS NOT NULL ORDER BY seq"
"""What the senders sent; what was recorded before them names no device."""
SEQS = "SELECT seq FROM ledger.event ORDER BY seq"


class Crash(NamedTuple):
    """What a kill met: how many requests waited for their answer, how many transactions it cut."""

    in_flight: int
    transactions: int


async def crashed(killed: str, database: Postgres, service: Service, journal: Journal) -> Crash:
    """Kill the service, the database, or both, in the middle of their work, and start again what is gone."""
    service.hold()
    while journal.in_flight < IN_FLIGHT:
        service.go_on()
        await journal.reaches(len(journal.acknowledged) + 1)
        service.hold()
    met = Crash(journal.in_flight, database.transactions())
    if killed != "service":
        database.kill()
    if killed != "database":
        service.kill()
    if killed != "service":
        await asyncio.to_thread(database.start)
    if killed == "database":
        service.go_on()  # it finds its connections cut, and the database there again
    else:
        service.start()
    return met


async def under_load(database: Postgres, service: Service, key: str, journal: Journal) -> list[Crash]:
    """Kill so many times while events come, and let all that were sent be acknowledged in the end."""
    random = Random(4)  # noqa: S311 -- guards nothing
    ended = asyncio.Event()
    bodies = checks(UNITS, 200 * (KILLS + 1), seed=17)

    def until_ended() -> Iterator[bytes]:
        while not ended.is_set():
            yield next(bodies)

    every = until_ended()
    senders = [asyncio.create_task(Sender(service.port, key, journal).send(every)) for _ in range(SENDERS)]
    crashes = []
    for number in range(KILLS):
        await journal.reaches(len(journal.acknowledged) + random.randrange(20, 120))
        crashes.append(await crashed(("service", "database", "both")[number % 3], database, service, journal))
    await journal.reaches(len(journal.acknowledged) + 100)
    ended.set()
    await asyncio.gather(*senders)
    return crashes


async def test_no_acknowledged_event_is_lost_and_none_is_there_twice(
    tmp_path: Path, record_property: Callable[[str, object], None]
) -> None:
    """Whatever is killed, all that was sent stands in the log once, where its sender was told, and means the same."""
    journal = Journal()
    with packaged() as database, migrated(database) as made:
        environment = {"DATABASE_URL": made.app_url, "RESPIRATORS_REQUESTS_A_MINUTE": "0"}
        with serving(tmp_path / "service.log", environment) as service:
            key = await made_firm(made.owner_url)
            await settle_in(service.port, key, UNITS)
            crashes = await under_load(database, service, key, journal)
        faults: list[Fault] = []
        async with await connect(made.owner_url) as owner, owner.transaction():
            await set_organisation(owner, OURS)
            logged: dict[str, int] = dict(await (await owner.execute(LOGGED)).fetchall())
            seqs = [row[0] for row in await (await owner.execute(SEQS)).fetchall()]
            differing = await differences(owner, OURS, lambda _what, _done, _total: None)
            await verify(owner, OURS, faults.append)
    cut = [crash.transactions for crash in crashes if crash.transactions]
    record_property(
        "told",
        f"{len(crashes)} kills, {len(cut)} of them cut {sum(cut)} transactions; {len(journal.acknowledged)} events "
        f"acknowledged, answers {dict(journal.statuses)}, {journal.lost} connections lost",
    )
    assert len(crashes) == KILLS
    assert min(crash.in_flight for crash in crashes) >= IN_FLIGHT
    assert len(cut) >= KILLS / 2
    assert {ident: told.seq for ident, told in journal.acknowledged.items()} == logged
    assert seqs == list(range(1, len(seqs) + 1))
    assert (differing, faults) == ([], [])
    assert set(journal.statuses) <= {200, 201, 503}
    assert service.errors() == []
