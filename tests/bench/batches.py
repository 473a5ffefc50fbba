"""Batches of 500 over HTTP, and the store's call alone, beside a binary COPY of the same rows committed per 500."""

from collections.abc import Iterator
from datetime import UTC, datetime
from itertools import islice
from time import perf_counter
from unittest.mock import patch

import msgspec
import psycopg

from service.domain.caller import Caller
from service.ledger import Ledger
from service.recording import attempt
from service.store.append import append
from service.store.connecting import make_pool
from tests.bench.bare import KEY, ORGANISATION, TABLE, Event
from tests.bench.client import asked, request
from tests.bench.comparing import Line
from tests.bench.firm import analyse, checks, made_firm, made_key, settle_in
from tests.bench.in_process import take
from tests.bench.servers import started
from tests.databases.clone import Database
from tests.http.doors import OURS

SIZE = 500
COPY = """
COPY bare_event (organisation, seq, id, kind, kind_version, instant, by_ref, site, device, device_seq, received_at,
    recorded_at, key, imported, body, leaf, conflicts)
FROM STDIN (FORMAT BINARY)
"""
TYPES = [
    *("uuid", "int8", "uuid", "text", "int2", "timestamptz", "text", "text", "text", "int8", "timestamptz"),
    *("timestamptz", "uuid", "bool", "bytea", "bytea", "bytea"),
]


async def batches(database: Database, *, units: int, count: int) -> list[Line]:
    """Measure all three with as many events, a multiple of 500."""
    key = await made_firm(database.owner_url)
    environment = {"DATABASE_URL": database.app_url, "RESPIRATORS_REQUESTS_A_MINUTE": "0"}
    async with started(("service", "serve", "--door", "DOOR"), environment, 1) as server:
        await settle_in(server.port, key, units)
        analyse(database.owner_url)
        posts = [request(key, b"[" + b",".join(batch) + b"]") for batch in cut(checks(units, count, seed=7))]
        told = await asked(server.port, iter(posts), 2)
        assert set(told.statuses) == {207}, told.statuses
    service = count / told.seconds
    alone = count / await seconds_in_append(database, units=units, count=count)
    bare = count / copied(database, units=units, count=count)
    against = "binary COPY, committed per 500"
    return [
        Line(what="batches of 500 over HTTP", ours=service, against=against, theirs=bare, unit="events/s", reach=0.35),
        Line(what="the store's call alone", ours=alone, against=against, theirs=bare, unit="events/s", reach=0.5),
    ]


def cut(bodies: Iterator[bytes]) -> Iterator[list[bytes]]:
    """Cut events into batches."""
    while batch := list(islice(bodies, SIZE)):
        yield batch


async def seconds_in_append(database: Database, *, units: int, count: int) -> float:
    """Record batches in this process, and give the seconds spent in the one call that appends."""
    caller = Caller(organisation=OURS, key=await made_key(database.owner_url), role="administrator")
    spent = 0.0

    async def timed(*arguments: object, **named: object) -> object:
        nonlocal spent
        began = perf_counter()
        try:
            return await append(*arguments, **named)  # type: ignore[arg-type] # passed on as given
        finally:
            spent += perf_counter() - began

    async with make_pool(database.app_url, 2) as pool:
        ledger = Ledger(pool=pool, clock=lambda: datetime.now(UTC))
        with patch.object(attempt, "append", timed):
            for batch in cut(checks(units, count, seed=8)):
                await take(ledger, caller, batch)
    return spent


def copied(database: Database, *, units: int, count: int) -> float:
    """Copy the same rows into a table with the same indexes, and give the seconds it took."""
    with psycopg.connect(database.owner_url, autocommit=True) as conn:
        conn.execute(TABLE)
        prepared = list(cut(checks(units, count, seed=9)))
        began, seq = perf_counter(), 0
        for batch in prepared:
            now = datetime.now(UTC)
            with conn.transaction(), conn.cursor() as cursor, cursor.copy(COPY) as copy:
                copy.set_types(TYPES)
                for body in batch:
                    event = msgspec.json.decode(body, type=Event)
                    seq += 1
                    copy.write_row(
                        (ORGANISATION, seq, event.id, event.kind, 1, event.occurred_at, event.by, event.site,
                         event.device, event.device_seq, now, now, KEY, False, body, bytes(32), b"[]")
                    )  # fmt: skip
        return perf_counter() - began
