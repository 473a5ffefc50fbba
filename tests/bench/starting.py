"""How soon a server answers after it was started, and the memory it takes under load."""

from statistics import median
from time import perf_counter

import psutil

from tests.bench.client import asked, request
from tests.bench.comparing import Line
from tests.bench.firm import checks, made_firm, settle_in
from tests.bench.servers import started
from tests.databases.clone import Database

SECONDS, MIB = 1.0, 150.0


async def starting(database: Database, *, units: int, count: int, times: int = 5) -> list[Line]:
    """Start the service on a database with a firm, several times; then post, and read its own share of memory."""
    key = await made_firm(database.owner_url)
    environment = {"DATABASE_URL": database.app_url, "RESPIRATORS_REQUESTS_A_MINUTE": "0"}
    serve = ("service", "serve", "--door", "DOOR")
    async with started(serve, environment, 1) as server:
        await settle_in(server.port, key, units)
        posts = (request(key, body) for body in checks(units, count, seed=1))
        await asked(server.port, posts, 32)
        memory = psutil.Process(server.pids[0]).memory_full_info().pss / 2**20
    took = []
    for _ in range(times):
        began = perf_counter()
        async with started(serve, environment, 1):
            took.append(perf_counter() - began)
    return [
        Line(
            what="first answer after a start",
            ours=median(took),
            against="-",
            theirs=SECONDS,
            unit="s",
            reach=1,
            at_most=True,
        ),
        Line(what="memory (PSS) under load", ours=memory, against="-", theirs=MIB, unit="MiB", reach=1, at_most=True),
    ]
