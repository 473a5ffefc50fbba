"""The feed waited for, over real connections."""

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from typing import Any
from uuid import uuid4

import httpx

from service.heads import PLACES
from tests.http.firm import issued, the_firm
from tests.http.keys import Keys
from tests.http.listening import Listening, listening_to

Headers = dict[str, str]
PATIENCE = 20
"""Seconds after which what should come has not come; shorter than any wait that is asked for here."""


@asynccontextmanager
async def asked(service: Listening, headers: Headers) -> AsyncIterator[httpx.AsyncClient]:
    """Give a client of a service that waits longer than the service does."""
    limits = httpx.Limits(max_connections=100)
    async with httpx.AsyncClient(base_url=service.address, headers=headers, timeout=60, limits=limits) as http:
        yield http


async def post(http: httpx.AsyncClient, *said: dict[str, Any]) -> list[int]:
    """Post events, and give their seqs."""
    answered = await http.post("/v1/events", json=said)
    return [result["seq"] for result in answered.json()["results"]]


def wait_for(http: httpx.AsyncClient, **more: Any) -> asyncio.Task[httpx.Response]:
    """Begin to wait for what comes behind the firm's first four events, as long as one may."""
    return asyncio.create_task(http.get("/v1/events", params={"after": "4", "wait": "30"} | more))


def seqs(answered: httpx.Response) -> list[int]:
    """Give the seqs of a page."""
    return [event["seq"] for event in answered.json()["events"]]


async def test_who_waits_is_told_what_comes(app_url: str, keys: Keys) -> None:
    """An answer is held back until something is recorded, and then tells it; what is there already is told at once."""
    async with (
        asyncio.timeout(PATIENCE),
        listening_to(app_url) as service,
        asked(service, await keys.make("administrator")) as http,
    ):
        await post(http, *the_firm())
        assert seqs(await wait_for(http, after="2")) == [3, 4]
        waiting = wait_for(http)
        await service.waiting(1)
        await post(http, issued())
        assert seqs(await waiting) == [5]
        assert service.ledger.heads.waiting == 0


async def test_who_waits_is_told_what_another_process_records(app_url: str, keys: Keys) -> None:
    """What comes in at one process is told by another that shares only the database."""
    headers = await keys.make("administrator")
    async with (
        asyncio.timeout(PATIENCE),
        listening_to(app_url) as service,
        listening_to(app_url) as other,
        asked(service, headers) as http,
        asked(other, headers) as elsewhere,
    ):
        await post(elsewhere, *the_firm())
        waiting = wait_for(http)
        await service.waiting(1)
        await post(elsewhere, issued())
        assert seqs(await waiting) == [5]


async def test_a_wait_for_nothing_ends_with_a_cursor(app_url: str, keys: Keys) -> None:
    """When the time is over the page is empty, and its cursor has moved over what was not asked for meanwhile."""
    async with (
        asyncio.timeout(PATIENCE),
        listening_to(app_url) as service,
        asked(service, await keys.make("administrator")) as http,
    ):
        await post(http, *the_firm())
        waiting = wait_for(http, kind="checked", wait="1")
        await service.waiting(1)
        await post(http, issued())
        page = (await waiting).json()
        assert (page["events"], page["more"], page["judged_to"]) == ([], False, 5)
        await post(http, issued())
        asked_again = {"kind": "checked", "wait": "1", "after": page["next"]}
        assert (await http.get("/v1/events", params=asked_again)).json()["judged_to"] == 6


async def test_who_waits_holds_no_connection(app_url: str, keys: Keys) -> None:
    """More wait than there are connections, and others are served; then each is told what came."""
    async with (
        asyncio.timeout(PATIENCE),
        listening_to(app_url) as service,
        asked(service, await keys.make("administrator")) as http,
    ):
        await post(http, *the_firm())
        waiting = [wait_for(http) for _ in range(PLACES)]
        await service.waiting(PLACES)
        assert service.ledger.pool.max_size < PLACES
        assert [site["site"] for site in (await http.get("/v1/sites")).json()["sites"]] == ["east-yard", "harrow-dock"]
        await post(http, issued())
        assert [seqs(answered) for answered in await asyncio.gather(*waiting)] == [[5]] * PLACES


async def test_a_key_has_so_many_places(app_url: str, keys: Keys) -> None:
    """One more than a key may have waiting is refused with 429; another key waits, and who hangs up frees a place."""
    ours, others = await keys.make("administrator"), await keys.make("integrator")
    async with (
        asyncio.timeout(PATIENCE),
        listening_to(app_url) as service,
        asked(service, ours) as http,
        asked(service, others) as other,
        asked(service, ours) as leaving,
    ):
        await post(http, *the_firm())
        waiting = [wait_for(http) for _ in range(PLACES - 1)]
        last = wait_for(leaving)
        await service.waiting(PLACES)
        refused = await wait_for(http)
        assert (refused.status_code, refused.json()["type"]) == (429, "/problems/too-many-waiting")
        assert refused.headers["retry-after"] == "1"

        waiting.append(wait_for(other))
        await service.waiting(PLACES + 1)
        last.cancel()
        await service.waiting(PLACES)
        waiting.append(wait_for(http))
        await service.waiting(PLACES + 1)
        await post(http, issued())
        assert [seqs(answered) for answered in await asyncio.gather(*waiting)] == [[5]] * (PLACES + 1)


async def test_who_waits_is_answered_when_the_service_stops(app_url: str, keys: Keys) -> None:
    """A service that stops lets nobody wait out its time: each has an empty page to come back with."""
    async with asyncio.timeout(PATIENCE):
        async with listening_to(app_url) as service, asked(service, await keys.make("administrator")) as http:
            await post(http, *the_firm())
            waiting = [wait_for(http), wait_for(http)]
            await service.waiting(2)
            service.server.should_exit = True
            pages = [(await one).json() for one in waiting]
        assert [(page["events"], page["more"]) for page in pages] == [([], False)] * 2


async def test_a_key_that_ends_while_it_waits_is_told_nothing(app_url: str, keys: Keys) -> None:
    """What comes after a key was revoked is not for who waits with it."""
    key = uuid4()
    ending, staying = await keys.make("integrator", key=key), await keys.make("administrator")
    async with (
        asyncio.timeout(PATIENCE),
        listening_to(app_url) as service,
        asked(service, ending) as http,
        asked(service, staying) as other,
    ):
        await post(other, *the_firm())
        waiting = wait_for(http)
        await service.waiting(1)
        await keys.revoke(key)
        await post(other, issued())
        answered = await waiting
    assert (answered.status_code, answered.json()["type"]) == (401, "/problems/invalid-key")
