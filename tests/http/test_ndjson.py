"""Streams of lines over real connections, so that what is sent and what is read have nothing to do with each other."""

import asyncio
import gzip
import json
import shutil
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from typing import Any, NamedTuple

import httpx
import pytest
from structlog.testing import capture_logs

from service.domain.errors import Overloaded
from service.record import record
from tests.http.contract import hold_to_contract
from tests.http.firm import Message, checked, issued, message, the_firm
from tests.http.keys import Keys
from tests.http.listening import listening_service
from tests.use.test_gathering import stumbling

Told = dict[str, Any]
NDJSON = "application/x-ndjson"


class Listening(NamedTuple):
    """A service with the firm of the tests, that listens on a port."""

    port: int
    http: httpx.AsyncClient
    headers: dict[str, str]

    async def post(self, content: Any, **headers: str) -> httpx.Response:
        """Post lines."""
        return await self.http.post("/v1/events", content=content, headers={"content-type": NDJSON} | headers)

    async def kinds(self) -> list[str]:
        """List the kinds of the log after the firm's own."""
        events: list[Told] = []
        after: dict[str, str] = {}
        while page := (await self.http.get("/v1/events", params={"limit": "500"} | after)).json():
            events += page["events"]
            if not page["events"]:
                break
            after = {"after": page["next"]}
        return [event["kind"] for event in events][4:]


@pytest.fixture
async def service(app_url: str, keys: Keys) -> AsyncIterator[Listening]:
    """Give a service that listens, and a client whose answers are held against the description."""
    headers = await keys.make("administrator")
    hooks: Any = {"response": [hold_to_contract]}
    async with listening_service(app_url) as port:
        address = f"http://127.0.0.1:{port}"
        async with httpx.AsyncClient(base_url=address, headers=headers, event_hooks=hooks, timeout=60) as http:
            await http.post("/v1/events", json=the_firm())
            yield Listening(port, http, headers)


def line(said: object) -> bytes:
    """Write a line."""
    return json.dumps(said).encode() + b"\n"


def told(answered: httpx.Response) -> list[Told]:
    """Read the lines of an answer."""
    assert (answered.status_code, answered.headers["content-type"]) == (200, NDJSON)
    return [json.loads(text) for text in answered.text.splitlines()]


def counted(ending: Told) -> tuple[int, int, int, int, int]:
    """Give the counts of a last line: lines, recorded, repeated, rejected, dropped."""
    return ending["lines"], ending["recorded"], ending["repeated"], ending["rejected"], ending["dropped"]


class Raw(NamedTuple):
    """A connection on which lines are sent and results read, in whatever order the test says."""

    reader: asyncio.StreamReader
    writer: asyncio.StreamWriter

    async def send(self, body: bytes) -> None:
        """Send a chunk of the body; an empty one ends it."""
        self.writer.write(f"{len(body):x}\r\n".encode() + body + b"\r\n")
        await self.writer.drain()

    async def result(self) -> Told:
        """Read on to the next line of the answer."""
        while not (text := await self.reader.readline()).startswith(b"{"):
            assert text, "the answer has ended"
        found: Told = json.loads(text)
        return found

    def hang_up(self) -> None:
        """Close the connection without reading on."""
        self.writer.transport.abort()


@asynccontextmanager
async def connected(service: Listening) -> AsyncIterator[Raw]:
    """Connect, and send the head of a stream of lines."""
    reader, writer = await asyncio.open_connection("127.0.0.1", service.port)
    head = (
        "POST /v1/events HTTP/1.1",
        "Host: ledger.test",
        f"Content-Type: {NDJSON}",
        "Transfer-Encoding: chunked",
        f"Authorization: {service.headers['authorization']}",
    )
    writer.write("\r\n".join([*head, "", ""]).encode())
    try:
        async with asyncio.timeout(60):
            yield Raw(reader, writer)
    finally:
        writer.transport.abort()


async def test_each_line_is_answered_by_a_line(service: Listening) -> None:
    """Lines are accepted or refused by themselves, empty ones passed over, and told by their number in their order."""
    handing = issued()
    body = line(handing) + b"\n" + line(handing) + b'{"id":\n' + line(checked("FX-9")) + b"7\n \r\n" + line(checked())
    *results, ending = told(await service.post(body))

    assert [(one["line"], one["status"]) for one in results] == [
        (1, 201),
        (3, 200),
        (4, 400),
        (5, 422),
        (6, 422),
        (8, 201),
    ]
    assert [one.get("outcome") or one["problem"]["type"] for one in results] == [
        "recorded",
        "repeated",
        "/problems/not-json",
        "/problems/unknown-reference",
        "/problems/malformed",
        "recorded",
    ]
    assert counted(ending) == (8, 2, 1, 3, 0)
    assert await service.kinds() == ["issued", "checked"]


async def test_line_is_answered_as_in_a_batch(service: Listening) -> None:
    """Beside the number of its line a result is what a batch would have told."""
    handing = issued()
    [streamed, _] = told(await service.post(line(handing)))
    [batched] = (await service.http.post("/v1/events", json=[handing])).json()["results"]

    assert streamed == batched | {"line": 1, "status": 201, "outcome": "recorded"}


@pytest.mark.parametrize("body", [b"", b"\n\n  \n"])
async def test_stream_that_says_nothing_is_told_its_end(service: Listening, body: bytes) -> None:
    """Without a line that says something there is only the last line of the answer."""
    [ending] = told(await service.post(body))

    assert counted(ending) == (0, 0, 0, 0, 0)


async def test_last_line_needs_no_end(service: Listening) -> None:
    """A line that the body ends with counts, though it has no end of its own."""
    [result, _] = told(await service.post(line(issued()).strip()))

    assert (result["status"], await service.kinds()) == (201, ["issued"])


@pytest.mark.parametrize(
    ("bad", "status", "problem"),
    [
        (b'"' + b"a" * 70_000 + b'"', 413, "too-large"),
        (b"[" * 40 + b"]" * 40, 400, "too-deep"),
        (b"[" * 60_000, 400, "too-deep"),
        (b"\xff\xfe", 400, "not-json"),
    ],
    ids=("too long", "too deep", "never closed", "no text"),
)
async def test_bad_line_is_refused_by_itself(service: Listening, bad: bytes, status: int, problem: str) -> None:
    """A line that cannot be read is told so, and the stream goes on."""
    [before, refused, after, ending] = told(await service.post(line(issued()) + bad + b"\n" + line(checked())))

    assert (refused["line"], refused["id"], refused["status"]) == (2, None, status)
    assert refused["problem"]["type"] == f"/problems/{problem}"
    assert (before["status"], after["status"], counted(ending)) == (201, 201, (3, 2, 0, 1, 0))


async def test_the_last_line_tells_the_position(service: Listening) -> None:
    """The position of a stream is its highest seq, over all its chunks; of one that recorded nothing there is none."""
    said = checked()
    many = await service.post(b"".join(map(line, [said, *(checked() for _ in range(600)), said, {}])))
    nothing = await service.post(line({}))

    assert [told(answered)[-1]["position"] for answered in (many, nothing)] == [605, None]


async def test_a_line_that_the_service_fails_at_holds_up_nothing(service: Listening, owner_url: str) -> None:
    """The database stumbles over one line: it has a problem for its result, and all behind it are recorded."""
    await stumbling(owner_url)
    bad = checked(id="0198c1f2-7a10-7c3e-9b55-000000000105")
    with capture_logs():
        answered = await service.post(b"".join(map(line, [checked(), checked(), bad, checked()])))
    *results, ending = told(answered)

    assert [result["status"] for result in results] == [201, 201, 500, 201]
    assert (results[2]["id"], results[2]["problem"]["type"]) == (bad["id"], "/problems/internal")
    assert counted(ending) == (4, 3, 0, 1, 0)
    assert "problem" not in ending


async def test_lines_are_recorded_while_more_are_to_come(service: Listening) -> None:
    """A sender that goes on only once it is told of its last line is told, and others can read what it was told."""
    events: list[Message] = [issued(), checked(), message("worn", asset="FX-0142", wearer="p-3071")]
    async with connected(service) as raw:
        for number, event in enumerate(events, start=1):
            await raw.send(line(event))
            result = await raw.result()
            assert (result["line"], result["id"], result["outcome"]) == (number, event["id"], "recorded")
            assert await service.kinds() == [one["kind"] for one in events[:number]]
        await raw.send(b"")
        assert counted(await raw.result())[:2] == (3, 3)


async def test_client_that_hangs_up_has_posted_the_lines_that_ended(service: Listening) -> None:
    """The lines before are recorded, told or not; the torn one is not, though it would be an event; nobody failed."""
    with capture_logs() as lines:
        async with connected(service) as raw:
            await raw.send(line(issued()))
            assert (await raw.result())["status"] == 201
            await raw.send(line(checked()) + line(message("worn", asset="FX-0142", wearer="p-3071")).strip())
            raw.hang_up()
            while not [one for one in lines if one.get("route") == "/v1/events" and one.get("method") == "POST"]:
                await service.kinds()
    [logged] = [one for one in lines if one.get("method") == "POST"]

    assert await service.kinds() == ["issued", "checked"]
    assert (logged["recorded"], logged["repeated"], logged["rejected"]) == (2, 0, 0)
    assert [one for one in lines if one["log_level"] in {"warning", "error"}] == []
    assert (await service.http.get("/v1/rejected")).json()["rejected"] == []


async def test_client_that_reads_nothing_is_taken_in_all_the_same(service: Listening) -> None:
    """Over 1 MiB of results wait for a client that sends first: all is recorded, and what is dropped is counted."""
    deep = b"[" * 40 + b"\n"  # refused without work, at length

    async def coming() -> AsyncIterator[bytes]:
        yield line(checked())
        for _ in range(300):
            yield deep * 100
        yield line(message("worn", asset="FX-0142", wearer="p-3071"))

    answered = await service.post(coming())
    *results, ending = told(answered)

    assert counted(ending)[:4] == (30_002, 2, 0, 30_000)
    assert len(results) + ending["dropped"] == 30_002
    assert ending["dropped"] > 0
    assert [one["line"] for one in results[:3]] == [1, 2, 3]
    assert sorted(numbers := [one["line"] for one in results]) == numbers
    assert len(answered.content) > 1024 * 1024
    assert await service.kinds() == ["checked", "worn"]


async def test_coded_stream_is_recorded_as_it_comes(service: Listening) -> None:
    """Lines in a gzip that goes on are recorded before it ends; one that is torn loses what came after."""
    events = [issued(), checked()]
    packer = gzip.compress(line(events[0])), gzip.compress(line(events[1]))[:-9]
    *results, ending = told(await service.post(b"".join(packer), **{"content-encoding": "gzip"}))

    assert [one["id"] for one in results][:1] == [events[0]["id"]]
    assert ending["problem"]["type"] == "/problems/broken-coding"
    assert ending["lines"] == len(results)


async def test_failure_after_the_first_results_is_told_last(
    service: Listening, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The last line says which problem ended the stream, and after which line all is to be sent again."""
    calls = iter([record])

    async def busy(*args: Any, **kwargs: Any) -> Any:
        following = next(calls, None)
        if following is None:
            raise Overloaded
        return await following(*args, **kwargs)

    monkeypatch.setattr("service.http.ndjson.record", busy)
    async with connected(service) as raw:
        await raw.send(b"\n" + line(issued()))
        assert (await raw.result())["line"] == 2
        await raw.send(line(checked()))
        ending = await raw.result()
    assert (ending["problem"]["type"], ending["problem"]["status"]) == ("/problems/overloaded", 503)
    assert counted(ending) == (2, 1, 0, 0, 0)


async def test_failure_before_any_result_is_the_answer(service: Listening, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where no line was taken in the answer is the problem itself, with its status."""

    async def busy(*_: Any, **__: Any) -> Any:
        raise Overloaded

    monkeypatch.setattr("service.http.ndjson.record", busy)
    answered = await service.post(line(issued()))

    assert (answered.status_code, answered.json()["type"]) == (503, "/problems/overloaded")
    assert answered.headers["retry-after"] == "1"


@pytest.mark.parametrize(("accept", "status"), [("*/*", 200), (NDJSON, 200), ("application/json", 406)])
async def test_lines_are_answered_by_nothing_but_lines(service: Listening, accept: str, status: int) -> None:
    """Who sends lines and takes only another form is told before anything is recorded."""
    assert (await service.post(line(issued()), accept=accept)).status_code == status
    assert await service.kinds() == (["issued"] if status == 200 else [])


async def test_lines_go_where_they_are_taken_alone(service: Listening) -> None:
    """Another address takes no lines."""
    answered = await service.http.put(
        "/v1/sites/new-yard", content=b"{}", headers={"content-type": NDJSON, "if-none-match": "*"}
    )

    assert (answered.status_code, answered.headers["accept-post"]) == (415, "application/json")


async def test_curl_is_told_while_it_sends(service: Listening) -> None:
    """Curl passes lines on as it gets them, and shows each result before the next line is given to it."""
    curl = shutil.which("curl")
    if curl is None:
        pytest.skip("no curl on this machine")
    told_to = ("-sS", "-N", "-X", "POST", "-T", ".", "-H", "Expect:", "-H", f"Content-Type: {NDJSON}")
    key = ("-H", f"Authorization: {service.headers['authorization']}")
    pipe = asyncio.subprocess.PIPE
    running = await asyncio.create_subprocess_exec(
        curl, *told_to, *key, f"http://127.0.0.1:{service.port}/v1/events", stdin=pipe, stdout=pipe
    )
    assert running.stdin is not None
    assert running.stdout is not None
    async with asyncio.timeout(60):
        for number, event in enumerate([issued(), checked()], start=1):
            running.stdin.write(line(event))
            assert json.loads(await running.stdout.readline())["line"] == number
        running.stdin.close()
        assert counted(json.loads(await running.stdout.readline())) == (2, 2, 0, 0, 0)
        assert await running.wait() == 0
