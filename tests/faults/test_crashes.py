"""Killed at any moment, the service or the database or both: no acknowledged event is lost, none is there twice.

Most senders send events one by one, some in arrays, and some send reports of failures that are refused: what was told
to be kept has to be found, too.

A kill counts only with 32 requests or more in flight; the senders' journal of what was acknowledged is the judge.
`CRASHES=200` is the long mode.
"""

import asyncio
import os
from collections.abc import Callable, Iterator
from itertools import islice
from pathlib import Path
from random import Random
from typing import NamedTuple
from uuid import UUID

import msgspec

from service.rebuild import differences
from service.store.connecting import connect
from service.store.scope import set_organisation
from service.verify import Fault, verify
from tests.bench.firm import checks, made_firm, settle_in, tag_of
from tests.faults.database import Postgres, migrated, packaged
from tests.faults.senders import Journal, Sender
from tests.faults.service import Service, serving
from tests.http.doors import OURS

KILLS = int(os.environ.get("CRASHES", "12"))
SENDERS, OF_ARRAYS, REPORTERS = 48, 6, 2
TOGETHER = 5
IN_FLIGHT = 32
UNITS = 40
LOGGED = "SELECT id::text, seq FROM ledger.event WHERE device IS NOT NULL ORDER BY seq"
"""What the senders sent; what was recorded before them names no device."""
KEPT = """
SELECT r.body, r.id::text FROM ledger.rejected_message r JOIN ledger.failure_report f USING (organisation, id)
"""
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
    bodies = checks(UNITS, 400 * (KILLS + 1), seed=17)

    def until_ended() -> Iterator[bytes]:
        while not ended.is_set():
            yield next(bodies)

    def arrays() -> Iterator[bytes]:
        while together := list(islice(every, TOGETHER)):
            yield b"[" + b",".join(together) + b"]"

    def reports() -> Iterator[bytes]:
        while not ended.is_set():
            yield report(random)

    every = until_ended()
    kinds = [*[every] * (SENDERS - OF_ARRAYS - REPORTERS), *[arrays()] * OF_ARRAYS, *[reports()] * REPORTERS]
    senders = [asyncio.create_task(Sender(service.port, key, journal).send(kind)) for kind in kinds]
    crashes = []
    for number in range(KILLS):
        await journal.reaches(len(journal.acknowledged) + random.randrange(20, 120))
        crashes.append(await crashed(("service", "database", "both")[number % 3], database, service, journal))
    await journal.reaches(len(journal.acknowledged) + 100)
    ended.set()
    await asyncio.gather(*senders)
    return crashes


def report(random: Random) -> bytes:
    """Write a report of a failure that no reader can make an event of."""
    ident = str(UUID(int=random.getrandbits(128)))
    said = {"kind": "failed-check", "asset": tag_of(random.randrange(UNITS)), "points": "broken"}
    return msgspec.json.encode(said | {"id": ident, "by": "p-1001", "occurred_on": "2026-03-02"})


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
            kept: dict[bytes, str] = dict(await (await owner.execute(KEPT)).fetchall())
            seqs = [row[0] for row in await (await owner.execute(SEQS)).fetchall()]
            differing = await differences(owner, OURS, lambda _what, _done, _total: None)
            await verify(owner, OURS, faults.append)
    cut = [crash.transactions for crash in crashes if crash.transactions]
    record_property(
        "told",
        f"{len(crashes)} kills, {len(cut)} of them cut {sum(cut)} transactions; {len(journal.acknowledged)} events "
        f"and {len(journal.refused)} reports acknowledged, answers {dict(journal.statuses)}, {journal.lost} "
        "connections lost",
    )
    assert len(crashes) == KILLS
    assert min(crash.in_flight for crash in crashes) >= IN_FLIGHT
    assert len(cut) >= KILLS / 2
    assert {ident: told.seq for ident, told in journal.acknowledged.items()} == logged
    assert journal.refused == kept != {}
    assert seqs == list(range(1, len(seqs) + 1))
    assert (differing, faults) == ([], [])
    assert {207, 422} <= set(journal.statuses) <= {200, 201, 207, 422, 503}
    assert service.errors() == []
