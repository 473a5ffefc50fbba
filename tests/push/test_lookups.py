"""Names whose servers say nothing: whom their look-ups hold up, and for how long."""

import asyncio
import socket
import subprocess
import sys
from collections.abc import Iterator
from threading import Event
from typing import Any
from uuid import UUID

import httpx
import pytest

from service.pushing.lookups import OF_ONE, Lookups
from tests.http.doors import FOREIGN, OURS
from tests.http.firm import the_firm
from tests.http.keys import Keys
from tests.push.conftest import sending
from tests.push.hooks import Hook, hooked
from tests.push.receiver import receiving

SILENT = "silent.example"
EXECUTOR = 32
"""Threads that a loop's own executor has at most (Python's `concurrent.futures`)."""


class Resolver:
    """The system's resolver where one name's servers say nothing until they are let go; the others are this machine."""

    def __init__(self) -> None:
        self.asked = 0
        self.let_go = Event()

    def __call__(self, host: str, port: Any, *more: Any, **named: Any) -> Any:
        """Answer as `socket.getaddrinfo` does."""
        if host == SILENT:
            self.asked += 1
            self.let_go.wait()
            raise socket.gaierror(socket.EAI_AGAIN, "no answer")
        return GETADDRINFO("127.0.0.1", port, *more, **named)


GETADDRINFO = socket.getaddrinfo


@pytest.fixture
def resolver(monkeypatch: pytest.MonkeyPatch) -> Iterator[Resolver]:
    """Have names resolved by one that is silent about some."""
    found = Resolver()
    monkeypatch.setattr(socket, "getaddrinfo", found)
    yield found
    found.let_go.set()


async def given_up(lookups: Lookups, organisation: UUID) -> bool:
    """Look a silent name up for a moment; say whether it came to nothing in that time."""
    try:
        async with asyncio.timeout(0.05):
            await lookups.addresses(organisation, SILENT, 443)
    except TimeoutError:
        return True
    return False


async def test_silent_names_take_no_thread_of_others(resolver: Resolver) -> None:
    """While many look-ups get no answer, the loop's own threads are free, and another firm's names are found."""
    lookups = Lookups()
    assert all(await asyncio.gather(*(given_up(lookups, OURS) for _ in range(2 * EXECUTOR))))
    async with asyncio.timeout(5):
        assert await asyncio.to_thread(lambda: "free") == "free"
        assert await lookups.addresses(FOREIGN, "erp.example.com", 443) == ["127.0.0.1"]
    assert resolver.asked == OF_ONE


async def test_a_lookup_counts_until_it_has_ended(resolver: Resolver) -> None:
    """A firm that has given up on its look-ups begins no more until those have ended; then it does."""
    lookups = Lookups()
    for _ in range(OF_ONE):
        assert await given_up(lookups, OURS)
    waiting = asyncio.create_task(lookups.addresses(OURS, "erp.example.com", 443))
    assert await given_up(lookups, OURS)
    assert not waiting.done()
    resolver.let_go.set()
    async with asyncio.timeout(5):
        assert await waiting == ["127.0.0.1"]


async def test_a_name_that_is_none_is_said_to_be(resolver: Resolver) -> None:
    """What the system says of a name its asker is told, be it an error."""
    resolver.let_go.set()
    with pytest.raises(socket.gaierror):
        await Lookups().addresses(OURS, SILENT, 443)


ENDS = """
import asyncio, socket, threading, uuid
from service.pushing.lookups import Lookups

socket.getaddrinfo = lambda *_, **__: threading.Event().wait()

async def main():
    try:
        async with asyncio.timeout(0.1):
            await Lookups().addresses(uuid.uuid4(), "silent.example", 443)
    except TimeoutError:
        print("given up")

asyncio.run(main())
"""


def test_a_process_ends_without_its_lookups() -> None:
    """A process that was to end does, though a look-up of its has had no answer."""
    ended = subprocess.run([sys.executable, "-c", ENDS], capture_output=True, text=True, timeout=20, check=True)
    assert (ended.stdout, ended.stderr) == ("given up\n", "")


async def test_another_firms_silent_names_hold_up_nobody(keys: Keys, app_url: str, resolver: Resolver) -> None:
    """While as many webhooks as the loop has threads and more wait for a name, another firm is sent its events."""
    ours = await keys.make("administrator")
    theirs = await keys.make("administrator", organisation=FOREIGN)
    async with sending(app_url, webhook_seconds=1) as http, receiving() as receiver:
        await http.post("/v1/events", json=the_firm(), headers=ours)
        await http.post("/v1/events", json=the_firm(), headers=theirs)
        for _ in range(EXECUTOR + 8):
            await hooked(http, ours, f"https://{SILENT}/")
        tried = await hooked(http, ours, f"https://{SILENT}/", state="paused")
        async with asyncio.timeout(10):
            while resolver.asked < OF_ONE:  # noqa: ASYNC110 - the resolver tells nobody
                await asyncio.sleep(0)
            hook: Hook = await hooked(http, theirs, f"http://erp.example.com:{receiver.port}/")
            await hook.until(passed=4)
            assert receiver.seqs == [1, 2, 3, 4]
            told: httpx.Response = await tried.post("test")
            assert (told.json()["delivered"], told.json()["error"]) == (False, "timed-out")
        resolver.let_go.set()
