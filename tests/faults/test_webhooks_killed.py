"""Processes that send webhooks, killed while a message is on its way."""

import asyncio
from collections.abc import AsyncIterator
from pathlib import Path
from typing import Any

import httpx
import pytest

from tests.databases.clone import Database
from tests.faults.service import Service, serving
from tests.http.conftest import made_firms
from tests.http.firm import WEBHOOK_KEY, message, site
from tests.push.hooks import Hook, hooked
from tests.push.receiver import Got, receiving, status, taken

Headers = dict[str, str]


def environment(database: Database) -> dict[str, str]:
    """Have a process send to this machine, and be believed dead two seconds after it was last heard of."""
    return {
        "DATABASE_URL": database.app_url,
        "RESPIRATORS_WEBHOOK_KEY": WEBHOOK_KEY,
        "RESPIRATORS_WEBHOOK_PRIVATE": "yes",
        "RESPIRATORS_WEBHOOK_SECONDS": "1",
    }


@pytest.fixture
async def administrator(database: Database) -> AsyncIterator[Headers]:
    """Give the headers of an administrator's key."""
    async with made_firms(database.owner_url) as keys:
        yield await keys.make("administrator")


def client(service: Service) -> httpx.AsyncClient:
    """Give a client of a process."""
    return httpx.AsyncClient(base_url=f"http://127.0.0.1:{service.port}", timeout=60)


async def record(http: httpx.AsyncClient, headers: Headers, count: int) -> None:
    """Record so many events."""
    sites: list[dict[str, Any]] = [site(f"yard-{number}") for number in range(count)]
    answered = await http.post("/v1/events", json=sites, headers=headers)
    assert {one["status"] for one in answered.json()["results"]} == {201}, answered.text


async def test_a_message_that_was_on_its_way_comes_again(
    database: Database, administrator: Headers, tmp_path: Path
) -> None:
    """A process killed before an answer came has recorded nothing: the next sends the message again, and goes on."""
    never = asyncio.Event()

    async def silent(_: Got) -> bytes:
        await never.wait()
        return b""

    async with receiving(silent) as receiver:
        with serving(tmp_path / "service.log", environment(database)) as service:
            async with client(service) as http:
                await record(http, administrator, 3)
                hook = await hooked(http, administrator, receiver.url)
                await receiver.until(1)
                service.kill()
            receiver.answer = taken
            never.set()
            service.start()
            async with client(service) as http:
                await Hook(http, administrator, hook.made).until(passed=3, waiting=0)
            assert receiver.seqs == [1, 1, 2, 3]
            first, second = receiver.got[:2]
            assert first.headers["webhook-id"] == second.headers["webhook-id"]
            assert second.verified(hook.secret) == first.event
            assert service.errors() == []


async def test_one_of_two_processes_goes_on_alone(database: Database, administrator: Headers, tmp_path: Path) -> None:
    """Of two processes one sends at a time, each message once; when it is held still the other takes its place."""

    async def quick(_: Got) -> bytes:
        return status(200)

    with (
        serving(tmp_path / "one.log", environment(database)) as one,
        serving(tmp_path / "two.log", environment(database)) as two,
    ):
        async with receiving(quick) as receiver, client(one) as first, client(two) as second:
            await record(first, administrator, 40)
            hook = await hooked(first, administrator, receiver.url)
            await record_more(second, administrator, 20)
            await hook.until(passed=60)
            assert receiver.seqs == list(range(1, 61))
            assert receiver.most_at_once == 1

            one.hold()
            await record_more(second, administrator, 5)
            await Hook(second, administrator, hook.made).until(passed=65)
            one.go_on()
            await record_more(second, administrator, 5)
            await Hook(second, administrator, hook.made).until(passed=70)
            assert sorted(set(receiver.seqs)) == list(range(1, 71))
        assert [*one.errors(), *two.errors()] == []


async def record_more(http: httpx.AsyncClient, headers: Headers, count: int) -> None:
    """Record so many more events, by themselves."""
    for number in range(count):
        said = message("task-defined", task=f"t-{number}", name="A task", substances=[], oxygen="proven", space="open")
        answered = await http.post("/v1/events", json=said, headers=headers)
        assert answered.status_code == 201, answered.text
