"""Bodies, read within the limits and taken apart."""

import base64
from collections.abc import AsyncIterator
from typing import Any

import httpx
import msgspec
import pytest
from litestar import post

from service.domain.words import Reason
from service.http.answers import Answer, answer
from service.http.body import elements, posted, read_as, read_message
from service.http.request import Asked
from tests.http.doors import an_app, client


@post("/posted")
async def messages(request: Asked) -> Answer:
    """Say back the messages."""
    said = await posted(request)
    return answer([said.batch, *said.messages])


@post("/message")
async def message(request: Asked) -> Answer:
    """Say back how long the message is."""
    return answer(len(await read_message(request)))


class Dismissal(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A body that is no event."""

    reason: Reason


@post("/dismissal")
async def dismissal(request: Asked) -> Answer:
    """Say back the reason."""
    return answer((await read_as(request, Dismissal)).reason)


async def sent(path: str, body: bytes, **headers: str) -> httpx.Response:
    """Post a body as JSON."""
    async with client(messages, message, dismissal) as http:
        return await http.post(path, content=body, headers={"content-type": "application/json"} | headers)


def code(answered: httpx.Response) -> str:
    """Give the code of a problem."""
    assert answered.headers["content-type"] == "application/problem+json"
    return str(answered.json()["type"]).removeprefix("/problems/")


def said(answered: httpx.Response) -> list[Any]:
    """Give what was said back: whether it was a batch, and the messages."""
    batch, *texts = answered.json()
    return [batch, *(base64.b64decode(text) for text in texts)]


@pytest.mark.parametrize(
    ("body", "understood"),
    [
        (b'{"a":1}', [False, b'{"a":1}']),
        (b' {"a":1}\n', [False, b' {"a":1}\n']),
        (b'[{"a":1},{"b":[2]}]', [True, b'{"a":1}', b'{"b":[2]}']),
        (b'\n[ {"a":1} ]', [True, b'{"a":1}']),
        (b"[]", [True]),
        (b"[1,null]", [True, b"1", b"null"]),
        (b"", [False, b""]),
        (b"null", [False, b"null"]),
        (b'{"a":', [False, b'{"a":']),
        (b'[{"a":1},', [False, b'[{"a":1},']),
        (b'[{"a":1}] {"b":2}', [False, b'[{"a":1}] {"b":2}']),
        (b"\xff\xfe", [False, b"\xff\xfe"]),
        (b'[{"a":"\xff"}]', [True, b'{"a":"\xff"}']),
    ],
)
async def test_a_body_is_taken_apart(body: bytes, understood: list[Any]) -> None:
    """An array gives a message for each element; anything else, also what is no JSON, is one message to be judged."""
    assert said(await sent("/posted", body)) == understood


@pytest.mark.parametrize(
    ("body", "problem"),
    [
        (b"[" + b",".join([b"{}"] * 1_001) + b"]", "too-large"),
        (b"[" + b",".join([b'{"kind":"issued"}'] * 10_000) + b"]", "too-large"),
        (b"[" * 4_000_000, "too-deep"),
        (b'[{"a":' + b"[" * 40 + b"]" * 40 + b"}]", "too-deep"),
        (b'{"a":' * 500_000 + b"1" + b"}" * 500_000, "too-deep"),
        (b"[" * 2_000_000 + b"]" * 2_000_000, "too-deep"),
        (b" " * (4 * 1024 * 1024 + 1), "too-large"),
    ],
    ids=("1001 events", "10000 events", "never closed", "one element", "objects", "lists", "over 4 MiB"),
)
async def test_what_is_over_a_limit_is_refused_whole(body: bytes, problem: str) -> None:
    """More events, bytes or levels than a request may carry are a clear problem that tells the limit."""
    answered = await sent("/posted", body)

    assert code(answered) == problem
    assert answered.json()["limit"] == {"too-deep": 32}.get(problem, 4_194_304 if body[:1] == b" " else 1_000)


async def test_a_body_of_exactly_the_limit_passes() -> None:
    """A body of 4 MiB is read."""
    assert (await sent("/message", b" " * (4 * 1024 * 1024))).json() == 4_194_304


async def test_a_stream_over_the_limit_is_refused_too() -> None:
    """A body whose length nobody announced is refused once it is over 4 MiB."""

    async def chunks() -> AsyncIterator[bytes]:
        for _ in range(5):
            yield b" " * 1024 * 1024

    async with client(message) as http:
        answered = await http.post("/message", content=chunks(), headers={"content-type": "application/json"})

    assert (answered.status_code, code(answered)) == (413, "too-large")


@pytest.mark.parametrize(
    "headers",
    [
        {"content-type": "application/x-www-form-urlencoded"},
        {"content-type": "text/plain"},
        {"content-type": "application/xml; charset=utf-8"},
        {"content-encoding": "br"},
        {"content-encoding": "gzip, zstd"},
        {"content-type": "application/x-ndjson"},
    ],
)
async def test_another_form_is_refused_with_the_form_to_send(headers: dict[str, str]) -> None:
    """What is no JSON, or in a coding not undone here, is 415 and told what is taken (RFC 9110 section 15.5.16)."""
    answered = await sent("/message", b"{}", **headers)

    assert (answered.status_code, code(answered)) == (415, "unsupported-media")
    assert answered.headers["accept-post"] == "application/json"
    assert answered.headers["accept-encoding"] == "gzip, zstd, identity"


@pytest.mark.parametrize("media", ["application/json", "application/json; charset=utf-8", ""])
async def test_json_is_taken(media: str) -> None:
    """JSON is taken, with or without parameters, and so is a body of no stated type."""
    assert (await sent("/message", b"{}", **{"content-type": media})).status_code == 200


@pytest.mark.parametrize(
    ("body", "problem", "pointer"),
    [
        (b'{"reason":', "not-json", None),
        (b'{"reason":"\xff"}', "not-json", None),
        (b"", "not-json", None),
        (b"{}", "malformed", "#/reason"),
        (b'{"reason":7}', "malformed", "#/reason"),
        (b'{"reason":" "}', "malformed", "#/reason"),
        (b'{"reason":"dup","colour":"red"}', "malformed", "#/colour"),
        (b'{"reason":"a\\u0000b"}', "malformed", "#/reason"),
        (b"[]", "malformed", "#"),
    ],
)
async def test_a_body_that_is_no_event_is_judged_alike(body: bytes, problem: str, pointer: str | None) -> None:
    """Syntax gives 400, a fault of the schema 422 with its place."""
    answered = await sent("/dismissal", body)

    assert code(answered) == problem
    assert answered.status_code == {"not-json": 400, "malformed": 422}[problem]
    assert answered.json().get("errors", [{}])[0].get("pointer") == pointer


async def test_a_client_that_hangs_up_is_no_fault_of_the_service() -> None:
    """A body that ends before its end is answered with a problem of the sender's, not of the service."""
    came: list[Any] = [
        {"type": "http.request", "body": b'{"kind":"iss', "more_body": True},
        {"type": "http.disconnect"},
    ]
    answered: list[Any] = []

    async def receive() -> Any:
        return came.pop(0)

    async def send(message: Any) -> None:
        answered.append(message)

    scope: Any = {
        "type": "http",
        "method": "POST",
        "path": "/posted",
        "query_string": b"",
        "headers": [(b"content-type", b"application/json"), (b"content-length", b"100")],
        "client": ("127.0.0.1", 1),
        "server": ("127.0.0.1", 2),
        "scheme": "http",
        "http_version": "1.1",
        "extensions": {},
        "state": {},
        "root_path": "",
        "raw_path": b"/posted",
        "asgi": {"version": "3.0", "spec_version": "2.3"},
    }
    await an_app(messages)(scope, receive, send)

    assert answered[0]["type"] == "http.response.start"
    assert answered[0]["status"] == 400
    assert answered[1]["type"] == "http.response.body"
    assert msgspec.json.decode(answered[1]["body"])["type"] == "/problems/incomplete-body"


def test_one_bad_element_leaves_the_others() -> None:
    """An array is cut at its commas although an element holds what no JSON text may: each is taken for itself."""
    body = b' [{"a": "x,]\\" y"}, {"b": "cut \\ud83d"}, [1, [2]]] '
    assert elements(body) == [b'{"a": "x,]\\" y"}', b'{"b": "cut \\ud83d"}', b"[1, [2]]"]
    assert elements(b"[]") == []
    assert elements(b"[1, 2") is None
    assert elements(b'["\\ud83d"] x') is None
