"""A database that is slow, full of others or interrupted: the sender is told to come back, and nothing is half done."""

import asyncio
import json
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import AsyncExitStack, asynccontextmanager
from typing import LiteralString, NamedTuple

import httpx
import pytest
from psycopg import AsyncConnection
from structlog.testing import capture_logs

from service.ledger import Ledger
from service.store import connecting
from tests.databases.cluster import Cluster
from tests.http.doors import OURS
from tests.http.firm import the_firm
from tests.http.keys import Keys
from tests.http.listening import listening_to
from tests.http.test_hanging_up import HOLD, LET_GO, is_waiting

WAITING = "FROM pg_stat_activity WHERE datname = %s AND wait_event = 'advisory'"
CANCEL: LiteralString = f"SELECT pg_cancel_backend(pid) {WAITING}"
END: LiteralString = f"SELECT pg_terminate_backend(pid) {WAITING}"


class Troubled(NamedTuple):
    """A service in trouble: a client of it, its ledger, what makes keys, and the administrator of its database."""

    http: httpx.AsyncClient
    ledger: Ledger
    keys: Keys
    admin: AsyncConnection

    async def post(self) -> httpx.Response:
        """Post the beginnings of a firm, the same each time."""
        return await self.http.post("/v1/events", json=FIRM)


FIRM = the_firm()


@asynccontextmanager
async def troubled(app_url: str, keys: Keys, cluster: Cluster) -> AsyncIterator[Troubled]:
    """Serve, as an administrator asks."""
    headers = await keys.make("administrator")
    async with (
        await AsyncConnection.connect(cluster.url, autocommit=True) as admin,
        listening_to(app_url) as service,
        httpx.AsyncClient(base_url=service.address, headers=headers, timeout=60) as http,
    ):
        yield Troubled(http, service.ledger, keys, admin)


async def out_of_connections(service: Troubled) -> httpx.Response:
    """Post while others hold every connection of the pool."""
    service.ledger.pool.timeout = 0.1
    async with AsyncExitStack() as stack:
        for _ in range(service.ledger.pool.max_size):
            await stack.enter_async_context(service.ledger.pool.connection())
        return await service.post()


async def locked_out(service: Troubled) -> httpx.Response:
    """Post while somebody holds the organisation's lock for longer than is waited for."""
    await service.keys.owner.execute(HOLD, {"organisation": OURS})
    try:
        return await service.post()
    finally:
        await service.keys.owner.execute(LET_GO, {"organisation": OURS})


def interrupted(by: LiteralString) -> Callable[[Troubled], Awaitable[httpx.Response]]:
    """Post, and have the statement that waits for the lock interrupted."""

    async def work(service: Troubled) -> httpx.Response:
        owner = service.keys.owner
        await owner.execute(HOLD, {"organisation": OURS})
        async with asyncio.TaskGroup() as group:
            posting = group.create_task(service.post())
            while not await is_waiting(owner):
                pass
            found = await (await service.admin.execute(by, [owner.info.dbname])).fetchall()
        assert found == [(True,)]
        await owner.execute(LET_GO, {"organisation": OURS})
        return posting.result()

    return work


@pytest.fixture
def impatient(monkeypatch: pytest.MonkeyPatch) -> None:
    """Wait for locks no longer than a moment."""
    monkeypatch.setattr(connecting, "OPTIONS", connecting.OPTIONS.replace("lock_timeout=10s", "lock_timeout=200ms"))


@pytest.mark.usefixtures("impatient")
@pytest.mark.parametrize(
    "trouble",
    [out_of_connections, locked_out, interrupted(CANCEL), interrupted(END)],
    ids=["pool", "lock", "cancelled", "ended"],
)
async def test_a_database_in_trouble_is_a_503_and_the_repeat_is_recorded(
    trouble: Callable[[Troubled], Awaitable[httpx.Response]],
    app_url: str,
    keys: Keys,
    cluster: Cluster,
) -> None:
    """The sender is told when to come back; nothing was recorded, and all is once it comes again."""
    async with troubled(app_url, keys, cluster) as service:
        with capture_logs() as lines:
            refused = await trouble(service)
        log = await service.http.get("/v1/events")
        again = await service.post()

    assert (refused.status_code, refused.json()["type"]) == (503, "/problems/unavailable")
    assert int(refused.headers["retry-after"]) > 0
    assert log.json()["events"] == []
    assert [result["status"] for result in again.json()["results"]] == [201] * 4
    assert [line["event"] for line in lines if line["log_level"] in {"error", "critical"}] == []


async def one(service: Troubled) -> object:
    """Post one event."""
    return (await service.http.post("/v1/events", json=FIRM[0])).json()


async def batch(service: Troubled) -> object:
    """Post several."""
    return (await service.post()).json()


async def lines(service: Troubled) -> object:
    """Post them as lines, none of which is answered."""
    return (await service.http.post("/v1/events", content=LINES, headers=AS_LINES)).json()


async def page(service: Troubled) -> object:
    """Read the log."""
    return (await service.http.get("/v1/events")).json()


PATIENCE = 30
LINES = b"".join(json.dumps(said).encode() + b"\n" for said in FIRM)
AS_LINES = {"content-type": "application/x-ndjson"}
KEPT = "Others had kept what this needs to themselves for too long, as a rebuild or a large recall does"
UNAVAILABLE = {
    "type": "/problems/unavailable",
    "title": "Not available for now",
    "status": 503,
    "detail": f"{KEPT}: send the same request again in a moment.",
}


@pytest.mark.usefixtures("impatient")
@pytest.mark.parametrize("work", [one, batch, lines, page])
async def test_who_waited_for_others_too_long_is_told_so(
    work: Callable[[Troubled], Awaitable[object]],
    app_url: str,
    keys: Keys,
    cluster: Cluster,
) -> None:
    """The database was reached: whatever is asked, the answer says that others had what it needs."""
    async with troubled(app_url, keys, cluster) as service:
        await keys.owner.execute(HOLD, {"organisation": OURS})
        try:
            assert await work(service) == UNAVAILABLE
        finally:
            await keys.owner.execute(LET_GO, {"organisation": OURS})


@pytest.mark.usefixtures("impatient")
async def test_the_last_line_tells_who_waited_for_others_too_long(app_url: str, keys: Keys, cluster: Cluster) -> None:
    """Where lines were answered before, their end says what the status can say no more."""
    first, rest = LINES.split(b"\n", 1)
    async with troubled(app_url, keys, cluster) as service:

        async def sent() -> AsyncIterator[bytes]:
            yield first + b"\n"
            while not (await service.http.get("/v1/events")).json()["events"]:
                pass
            await keys.owner.execute(HOLD, {"organisation": OURS})
            yield rest

        try:
            async with asyncio.timeout(PATIENCE):
                answered = await service.http.post("/v1/events", content=sent(), headers=AS_LINES)
        finally:
            await keys.owner.execute(LET_GO, {"organisation": OURS})

    result, ending = map(json.loads, answered.text.splitlines())
    assert (result["status"], ending["recorded"], ending["problem"]) == (201, 1, UNAVAILABLE)
