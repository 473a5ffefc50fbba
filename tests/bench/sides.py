"""Who answers single posts, and at what cost: a handler by hand with its pools, one that does nothing, the service."""

from collections.abc import AsyncIterator, Awaitable, Callable, Iterator
from contextlib import AbstractAsyncContextManager, asynccontextmanager

import msgspec
import psycopg

from tests.bench.bare import TABLE
from tests.bench.client import Told, asked, request
from tests.bench.firm import analyse, checks, made_firm, settle_in
from tests.bench.servers import Server, spent_by_all, started
from tests.databases.clone import Database

POOLS = (4, 8, 16, 32)
Start = Callable[[str, int, int], AbstractAsyncContextManager[Server]]
"""Starts the handler by hand, and beside it the one that does nothing: URL, connections of its pool, processes."""
Ask = Callable[[int, Iterator[bytes], int], Awaitable[Told]]
"""Sends requests to a port over so many connections."""


class Load(msgspec.Struct, frozen=True, kw_only=True):
    """What is asked of whom: the database server's pid, units, events of a measurement, processes of each server."""

    backend: int
    units: int
    count: int
    processes: int


class Row(msgspec.Struct, frozen=True, kw_only=True):
    """One line of the table: who answered how fast, and processor milliseconds an event in service and database."""

    name: str
    connections: int
    told: Told
    service_ms: float
    database_ms: float

    def told_in_a_line(self) -> str:
        """Write the line."""
        told = self.told
        return (
            f"{self.name:34}{self.connections:>12}{told.per_second:>10.0f}{told.p50:>8.1f}{told.p95:>8.1f}"
            f"{told.p99:>8.1f}{self.service_ms:>8.2f}{self.database_ms:>8.2f}"
        )


HEAD = f"{'who':34}{'connections':>12}{'a second':>10}{'p50 ms':>8}{'p95 ms':>8}{'p99 ms':>8}{'cpu ms':>8}{'db ms':>8}"


def make_table(database: Database) -> None:
    """Make the table of the handler by hand, empty."""
    with psycopg.connect(database.owner_url, autocommit=True) as conn:
        conn.execute("DROP TABLE IF EXISTS bare_event")
        conn.execute("DROP SEQUENCE IF EXISTS bare_seq")
        conn.execute(TABLE)


def by_hand(url: str, size: int, processes: int) -> AbstractAsyncContextManager[Server]:
    """Start the handler by hand as the service is started."""
    return started(("tests.bench.bare", "DOOR", str(size)), {"DATABASE_URL": url}, processes)


async def best_by_hand(
    database: Database, load: Load, connections: int, start: Start = by_hand, pools: tuple[int, ...] = POOLS
) -> tuple[Row, int]:
    """Measure the handler by hand with each of its pools; give the best and the size of its pool."""
    found = []
    for size in pools:
        async with start(database.owner_url, size, load.processes) as server:
            every = posts(load, "none", seed=1000 + size + connections)
            found.append((await measured(f"by hand, pool {size}", server, load, every, connections), size))
    return max(found, key=lambda one: one[0].told.per_second)


async def nothing(database: Database, load: Load, connections: int, start: Start = by_hand) -> Row:
    """Measure the handler that does nothing: no service behind this framework answers more often."""
    async with start(database.owner_url, 1, load.processes) as server:
        every = posts(load, "none", seed=connections, path="/nothing")
        return await measured("nothing", server, load, every, connections)


@asynccontextmanager
async def service(database: Database, load: Load) -> AsyncIterator[tuple[Server, str]]:
    """Start the service with the firm of the benchmark, and give an administrator's key with it."""
    key = await made_firm(database.owner_url)
    environment = {"DATABASE_URL": database.app_url, "RESPIRATORS_REQUESTS_A_MINUTE": "0"}
    async with started(("service", "serve", "--door", "DOOR"), environment, load.processes) as server:
        await settle_in(server.port, key, load.units)
        analyse(database.owner_url)
        yield server, key


def posts(load: Load, key: str, *, seed: int, path: str = "/v1/events") -> Iterator[bytes]:
    """Write the posts of one measurement; another seed makes other events."""
    return (request(key, body, path) for body in checks(load.units, load.count, seed=seed))


async def measured(
    name: str, server: Server, load: Load, requests: Iterator[bytes], connections: int, ask: Ask = asked
) -> Row:
    """Ask a server, and see what it and the database spend."""
    every = list(requests)
    before = [spent_by_all(pids) for pids in (server.pids, [load.backend])]
    told = await ask(server.port, iter(every), connections)
    assert told.statuses == {201: len(every)}, told.statuses
    after = [spent_by_all(pids) for pids in (server.pids, [load.backend])]
    spent, by_database = (1e3 * (two - one) / len(every) for one, two in zip(before, after, strict=True))
    return Row(name=name, connections=connections, told=told, service_ms=spent, database_ms=by_database)
