"""Clients that hang up, over real connections."""

import asyncio
import json
from collections.abc import Awaitable, Callable

import httpx
import pytest
from psycopg import AsyncConnection
from structlog.testing import capture_logs

from tests.http.doors import OURS
from tests.http.firm import the_firm
from tests.http.keys import Keys
from tests.http.listening import listening_service

Headers = dict[str, str]

HOLD = "SELECT pg_advisory_lock(ledger.lock_key(%(organisation)s))"
LET_GO = "SELECT pg_advisory_unlock(ledger.lock_key(%(organisation)s))"
WAITING = """
SELECT count(*) FROM pg_locks JOIN pg_database ON pg_database.oid = pg_locks.database
WHERE NOT granted AND datname = current_database()
"""


async def at_once() -> bool:
    """Wait for nothing."""
    return True


async def is_waiting(conn: AsyncConnection) -> bool:
    """Say whether someone waits for a lock in this database."""
    row = await (await conn.execute(WAITING)).fetchone()
    return row is not None and row[0] > 0


async def hang_up(
    port: int, headers: Headers, body: bytes, sent: int, until: Callable[[], Awaitable[bool]] = at_once
) -> None:
    """Announce a body, send so many bytes of it, and close the connection without reading an answer."""
    _, writer = await asyncio.open_connection("127.0.0.1", port)
    lines = [
        "POST /v1/events HTTP/1.1",
        "Host: ledger.test",
        "Content-Type: application/json",
        f"Content-Length: {len(body)}",
        f"Authorization: {headers['authorization']}",
    ]
    writer.write("\r\n".join([*lines, "", ""]).encode() + body[:sent])
    await writer.drain()
    while not await until():
        pass
    writer.close()
    await writer.wait_closed()


async def kinds(http: httpx.AsyncClient, headers: Headers) -> list[str]:
    """List the kinds of the log."""
    return [event["kind"] for event in (await http.get("/v1/events", headers=headers)).json()["events"]]


@pytest.mark.parametrize("missing", [1, 50, 200])
async def test_half_a_message_leaves_nothing(app_url: str, keys: Keys, missing: int) -> None:
    """A client that hangs up within its message has posted nothing, and the service does not count it as its fault."""
    headers = await keys.make("administrator")
    body = json.dumps(the_firm()).encode()
    async with listening_service(app_url) as port, httpx.AsyncClient(base_url=f"http://127.0.0.1:{port}") as http:
        with capture_logs() as lines:
            await hang_up(port, headers, body, len(body) - missing)
            async with asyncio.timeout(10):
                while not [line for line in lines if line.get("method") == "POST"]:
                    await kinds(http, headers)
        assert await kinds(http, headers) == []
        assert (await http.get("/v1/rejected", headers=headers)).json()["rejected"] == []

    assert [line["log_level"] for line in lines if line["log_level"] in {"warning", "error"}] == []
    assert [line["status"] for line in lines if line.get("method") == "POST"] == [400]


async def test_an_accepted_message_is_recorded_though_nobody_waits(app_url: str, keys: Keys) -> None:
    """A client that hangs up while its message is being recorded has posted it, and its repeat is told so."""
    headers = await keys.make("administrator")
    said = the_firm()
    body = json.dumps(said).encode()
    async with listening_service(app_url) as port, httpx.AsyncClient(base_url=f"http://127.0.0.1:{port}") as http:
        await keys.owner.execute(HOLD, {"organisation": OURS})
        async with asyncio.timeout(10):
            await hang_up(port, headers, body, len(body), until=lambda: is_waiting(keys.owner))
        await keys.owner.execute(LET_GO, {"organisation": OURS})
        async with asyncio.timeout(10):
            while not await kinds(http, headers):
                pass
        again = await http.post("/v1/events", json=said, headers=headers)

    assert [result["outcome"] for result in again.json()["results"]] == ["repeated"] * 4
