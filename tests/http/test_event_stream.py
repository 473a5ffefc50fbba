"""The feed as server-sent events, over real connections, read by a parser that is not the service's."""

import asyncio
import json
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from datetime import timedelta
from typing import Any
from uuid import uuid4

import httpx
import pytest
from httpx_sse import EventSource, ServerSentEvent

from service import follow
from service.app import now
from service.assessing import feed
from tests.http.firm import issued, message, the_firm
from tests.http.keys import Keys
from tests.http.listening import Listening, listening_to
from tests.http.test_long_poll import PATIENCE, asked, post

Headers = dict[str, str]
STREAM = "/v1/events/stream"


@asynccontextmanager
async def followed(http: httpx.AsyncClient, **sent: Any) -> AsyncIterator[AsyncIterator[ServerSentEvent]]:
    """Follow the stream, and give its events; a block without data is none (WHATWG HTML 9.2.6)."""
    async with http.stream("GET", STREAM, **sent) as answered:
        assert answered.status_code == 200, await answered.aread()
        yield (event async for event in EventSource(answered).aiter_sse() if event.data)


async def take(events: AsyncIterator[ServerSentEvent], count: int) -> list[ServerSentEvent]:
    """Take so many events."""
    return [await anext(events) for _ in range(count)]


def seqs(events: list[ServerSentEvent]) -> list[int]:
    """Give the seqs of events."""
    return [json.loads(event.data)["seq"] for event in events]


@asynccontextmanager
async def firm_of(app_url: str, keys: Keys) -> AsyncIterator[tuple[Listening, httpx.AsyncClient]]:
    """Give a service with a firm of four events, and an administrator's client."""
    async with (
        asyncio.timeout(PATIENCE),
        listening_to(app_url) as service,
        asked(service, await keys.make("administrator")) as http,
    ):
        await post(http, *the_firm())
        yield service, http


async def test_a_stream_tells_what_the_feed_tells(app_url: str, keys: Keys) -> None:
    """What there is comes first and then what is recorded, each with its kind, a cursor, and all that the feed has."""
    async with firm_of(app_url, keys) as (_, http):
        async with followed(http) as events:
            seen = await take(events, 4)
            await post(http, issued(), issued())
            seen += await take(events, 2)
        told = (await http.get("/v1/events")).json()["events"]

    assert [json.loads(event.data) for event in seen] == told
    assert [event.event for event in seen] == [event["kind"] for event in told]
    assert seen[0].retry == 1000


async def test_a_broken_stream_goes_on_where_it_was(app_url: str, keys: Keys) -> None:
    """`Last-Event-ID` leads on behind the event it came with; a cursor of the feed or a seq does, too, by `after`."""
    async with firm_of(app_url, keys) as (_, http):
        async with followed(http) as events:
            seen = await take(events, 2)
        async with followed(http, headers={"last-event-id": seen[-1].id}, params={"after": "0"}) as events:
            assert seqs(await take(events, 2)) == [3, 4]
        async with followed(http, headers={"last-event-id": "3"}) as events:
            assert seqs(await take(events, 1)) == [4]
        page = (await http.get("/v1/events", params={"after": seen[0].id, "limit": "2"})).json()
        assert [event["seq"] for event in page["events"]] == [2, 3]
        async with followed(http, params={"after": page["next"]}) as events:
            assert seqs(await take(events, 1)) == [4]


async def test_who_comes_back_after_a_month_has_lost_nothing(app_url: str, keys: Keys) -> None:
    """A month later, at another process and with another key of the same reach, a reader goes on without a gap."""
    async with firm_of(app_url, keys) as (service, http):
        async with followed(http) as events:
            cursor = (await take(events, 3))[-1].id
        old, month = await keys.make("integrator"), timedelta(days=31)
        async with asked(service, old) as integrator:
            page = (await integrator.get("/v1/events?limit=3")).json()
        for _ in range(3):
            await post(http, *(issued() for _ in range(90)))

        new, other = await keys.make("integrator"), await keys.make("administrator")
        async with (
            listening_to(app_url, clock=lambda: now() + month) as later,
            asked(later, new) as integrator,
            asked(later, other) as administrator,
        ):
            async with followed(administrator, headers={"last-event-id": cursor}) as events:
                assert seqs(await take(events, 271)) == list(range(4, 275))
            read: list[int] = []
            while page["more"]:
                page = (await integrator.get("/v1/events", params={"after": page["next"], "limit": "3"})).json()
                read += [event["seq"] for event in page["events"]]
    assert read == list(range(4, 275))


async def lines_of(answered: httpx.Response, count: int) -> list[str]:
    """Take so many lines of a stream as they are written."""
    lines = answered.aiter_lines()
    return [await anext(lines) for _ in range(count)]


async def test_a_cursor_moves_over_what_is_passed_over(app_url: str, keys: Keys) -> None:
    """A stream of events that there are none of tells that it lives, and moves the reader's cursor to the log's end."""
    async with firm_of(app_url, keys) as (_, http):
        async with http.stream("GET", STREAM, params={"kind": "issued"}) as answered:
            retry, cursor, end, alive = await lines_of(answered, 4)
        assert (retry, cursor[:4], end, alive) == ("retry: 1000", "id: ", "", ":")
        page = (await http.get("/v1/events", params={"kind": "issued"})).json()
        assert cursor == f"id: {page['next']}"


async def test_a_stream_is_alive_while_it_passes_over_a_backlog(
    app_url: str, keys: Keys, monkeypatch: pytest.MonkeyPatch
) -> None:
    """However much lies before a reader that asks for something else, its cursor moves and it is told of life."""
    monkeypatch.setattr(feed, "STRETCH", 1)
    monkeypatch.setattr(feed, "STRETCHES", 1)
    monkeypatch.setattr(follow, "HEARTBEAT", 0)
    async with firm_of(app_url, keys) as (_, http):
        async with http.stream("GET", STREAM, params={"kind": "issued"}) as answered:
            told = (await lines_of(answered, 7))[1:]
        pages = [(await http.get("/v1/events", params={"kind": "issued", "after": seq})).json() for seq in ("0", "1")]
    assert told == [line for page in pages for line in (f"id: {page['next']}", "", ":")]
    assert [page["more"] for page in pages] == [True, True]


async def test_a_quiet_stream_is_alive(app_url: str, keys: Keys, monkeypatch: pytest.MonkeyPatch) -> None:
    """While nothing comes a line of comment does, again and again, and nothing that a reader takes for an event."""
    monkeypatch.setattr(follow, "HEARTBEAT", 0.01)
    async with firm_of(app_url, keys) as (_, http), http.stream("GET", STREAM, params={"after": "4"}) as answered:
        assert await lines_of(answered, 5) == ["retry: 1000", ":", ":", ":", ":"]
        assert answered.headers["content-type"].startswith("text/event-stream")


@pytest.mark.parametrize("asked_for", [{"kind": "issued"}, {"site": "east-yard"}, {"subject": "asset:FX-0142"}])
async def test_a_stream_is_narrowed_like_the_feed(app_url: str, keys: Keys, asked_for: dict[str, str]) -> None:
    """A kind, a site or a subject narrow the stream to what they narrow the feed to."""
    stock = {"item": "pf-170", "quantity": 4.0, "unit": "EA", "site": "east-yard"}
    async with firm_of(app_url, keys) as (_, http), followed(http, params=asked_for) as events:
        await post(http, issued(), message("stock-counted", **stock), issued(), message("stock-counted", **stock))
        told = (await http.get("/v1/events", params=asked_for)).json()["events"]
        assert len(told) in {2, 3}
        assert seqs(await take(events, len(told))) == [event["seq"] for event in told]


async def test_a_key_of_a_site_follows_its_own(app_url: str, keys: Keys) -> None:
    """A key bound to a site is told the events of that site alone; another site is none to it."""
    east = await keys.make("integrator", ["east-yard"])
    async with firm_of(app_url, keys) as (service, http), asked(service, east) as bound:
        async with followed(bound) as events:
            await post(http, issued(), issued(site="east-yard"), issued(site="harrow-dock"), issued(site="east-yard"))
            assert seqs(await take(events, 3)) == [2, 6, 8]
        refused = await bound.get(STREAM, params={"site": "harrow-dock"})
        assert (refused.status_code, refused.json()["type"]) == (404, "/problems/not-found")


async def test_a_cursor_of_another_question_is_refused(app_url: str, keys: Keys) -> None:
    """A cursor that was written for another filter is refused before the stream begins, by the name it came under."""
    async with firm_of(app_url, keys) as (_, http):
        cursor = (await http.get("/v1/events", params={"kind": "issued"})).json()["next"]
        for headers, params, name in (
            ({"last-event-id": cursor}, {}, "Last-Event-ID"),
            ({}, {"after": cursor}, "after"),
        ):
            refused = await http.get(STREAM, headers=headers, params=params)
            assert (refused.status_code, refused.json()["type"]) == (400, "/problems/bad-cursor")
            assert refused.json()["errors"][0]["parameter"] == name
        async with followed(http, headers={"last-event-id": ""}, params={"after": "3"}) as events:
            assert seqs(await take(events, 1)) == [4]


async def test_a_stream_ends_with_its_key(app_url: str, keys: Keys) -> None:
    """When a key is revoked its stream ends before anything else is told, and who comes back is refused."""
    key = uuid4()
    ending = await keys.make("integrator", key=key)
    async with firm_of(app_url, keys) as (service, http), asked(service, ending) as reader:
        async with followed(reader) as events:
            assert seqs(await take(events, 4)) == [1, 2, 3, 4]
            await keys.revoke(key)
            await post(http, issued())
            assert [event async for event in events] == []
        assert (await reader.get(STREAM)).status_code == 401


async def test_a_stream_ends_with_the_service(app_url: str, keys: Keys) -> None:
    """A service that stops ends its streams, whole to the last event."""
    async with firm_of(app_url, keys) as (service, http), followed(http) as events:
        await take(events, 4)
        service.server.should_exit = True
        assert [event async for event in events] == []


async def test_who_hangs_up_frees_a_place(app_url: str, keys: Keys) -> None:
    """A stream takes one of the places of its key, and gives it back when its reader is gone, wherever it was."""
    async with firm_of(app_url, keys) as (service, http):
        async with followed(http) as events:
            await service.waiting(1)
            await take(events, 1)
        await service.waiting(0)
        async with followed(http, params={"after": "4"}):
            await service.waiting(1)
        await service.waiting(0)
