"""Single posts over so many connections, beside a handler by hand that inserts the same row and commits."""

from collections.abc import Iterator

import msgspec
import psycopg

from tests.bench.bare import TABLE
from tests.bench.client import Told, asked, request
from tests.bench.firm import analyse, checks, made_firm, settle_in
from tests.bench.servers import Server, spent, spent_by_all, started
from tests.databases.clone import Database

POOLS = (4, 8, 16, 32)


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
            f"{self.name:24}{self.connections:>12}{told.per_second:>10.0f}{told.p50:>8.1f}{told.p95:>8.1f}"
            f"{told.p99:>8.1f}{self.service_ms:>8.2f}{self.database_ms:>8.2f}"
        )


HEAD = f"{'who':24}{'connections':>12}{'a second':>10}{'p50 ms':>8}{'p95 ms':>8}{'p99 ms':>8}{'cpu ms':>8}{'db ms':>8}"
REACH = {32: 1.6, 128: 2.0}


async def posting(database: Database, backend: int, *, units: int, count: int, processes: int) -> list[str]:
    """Measure both, and give the lines; `backend` is the pid of the database server.

    A handler that does nothing at all is measured besides: no service behind this framework answers more often.
    """
    rows = await compared(database, backend, units=units, count=count, processes=processes)
    rate = {(row.name, row.connections): row.told.per_second for row in rows}
    ratios = []
    for connections, reach in REACH.items():
        hand = next(row for row in rows if row.connections == connections and row.name.startswith("by hand"))
        for name, wanted in (("nothing", None), ("service", reach)):
            ratio = rate[name, connections] / hand.told.per_second
            ratios.append(
                f"{name} / by hand at {connections} connections: {ratio:.2f}"
                + ("" if wanted is None else f", at least {wanted:g} is wanted")
            )
    return [HEAD, *(row.told_in_a_line() for row in rows), *ratios]


async def compared(database: Database, backend: int, *, units: int, count: int, processes: int) -> list[Row]:
    """Measure the handler by hand with the best of its pools, one that does nothing, and the service."""
    with psycopg.connect(database.owner_url, autocommit=True) as conn:
        conn.execute(TABLE)
    rows: list[Row] = []
    environment = {"DATABASE_URL": database.owner_url}
    for connections in (32, 128):
        found = []
        for size in POOLS:
            module = ("tests.bench.bare", "DOOR", str(size))
            async with started(module, environment, processes) as server:
                posts = (request("none", body) for body in checks(units, count, seed=1000 + size + connections))
                found.append(await measured(f"by hand, pool {size}", server, backend, posts, connections))
        rows.append(max(found, key=lambda row: row.told.per_second))
        async with started(("tests.bench.bare", "DOOR", "1"), environment, processes) as server:
            posts = (request("none", body, path="/nothing") for body in checks(units, count, seed=connections))
            rows.append(await measured("nothing", server, backend, posts, connections))
    key = await made_firm(database.owner_url)
    environment = {"DATABASE_URL": database.app_url, "RESPIRATORS_REQUESTS_A_MINUTE": "0"}
    async with started(("service", "serve", "--door", "DOOR"), environment, processes) as server:
        await settle_in(server.port, key, units)
        analyse(database.owner_url)
        for connections in (32, 128):
            posts = (request(key, body) for body in checks(units, count, seed=connections))
            rows.append(await measured("service", server, backend, posts, connections))
    return rows


async def measured(name: str, server: Server, backend: int, posts: Iterator[bytes], connections: int) -> Row:
    """Ask a server, and see what it and the database spend."""
    every = list(posts)
    before = spent(server.pids), spent_by_all(backend)
    told = await asked(server.port, iter(every), connections)
    assert told.statuses == {201: len(every)}, told.statuses
    after = spent(server.pids), spent_by_all(backend)
    service, database = (1e3 * (two - one) / len(every) for one, two in zip(before, after, strict=True))
    return Row(name=name, connections=connections, told=told, service_ms=service, database_ms=database)
