"""The log's one line per request."""

import re
from typing import Any

import pytest
from litestar import get
from litestar.params import FromPath
from structlog.testing import capture_logs

from service.http.answers import Answer, answer
from service.http.request import Asked, note
from service.http.request_log import logged as wrapped
from tests.http.doors import client

UUID = re.compile("[0-9a-f]{8}-[0-9a-f]{4}-4[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}")


@get("/people/{person:str}")
async def person(request: Asked, person: FromPath[str]) -> Answer:  # noqa: ARG001 - in the path
    """Do something worth a note."""
    note(request, {"recorded": 2, "rejected": 1})
    return answer({})


async def logged(path: str, **headers: str) -> tuple[list[Any], str]:
    """Ask, and give the lines of the log and the request's id."""
    with capture_logs() as lines:
        async with client(person) as http:
            answered = await http.get(path, headers=headers)
    return lines, answered.headers["x-request-id"]


async def test_a_request_has_one_line() -> None:
    """The line tells who asked by key and role, which route, what it did, how it ended and how long it took."""
    lines, _ = await logged("/people/p-3071", **{"user-agent": "kiosk of p-3071"})

    assert [line.pop("milliseconds") >= 0 for line in lines] == [True]
    assert lines == [
        {
            "event": "request",
            "log_level": "info",
            "method": "GET",
            "route": "/people/{person}",
            "organisation": "0198c1f2-0000-7000-8000-000000000001",
            "key": "0198c1f2-0000-7000-8000-0000000000a1",
            "role": "manager",
            "recorded": 2,
            "rejected": 1,
            "status": 200,
        }
    ]


async def test_a_wrong_address_has_its_line() -> None:
    """An address that leads nowhere is logged without repeating it."""
    lines, _ = await logged("/people/p-3071/medical")

    assert [(line["route"], line["status"]) for line in lines] == [(None, 404)]
    assert "p-3071" not in repr(lines)


@pytest.mark.parametrize(
    "sent",
    [
        "0198c1f2-7a10-7c3e-9b55-3f1d2ab40c01",
        "0198C1F2-7A10-7C3E-9B55-3F1D2AB40C01",
        "4bf92f3577b34da6a3ce929d0e0e4736",
        "00f067aa0ba902b7",
    ],
)
async def test_a_request_keeps_the_id_it_came_with(sent: str) -> None:
    """An id that its sender drew comes back, so that both sides can speak of one request."""
    _, request_id = await logged("/people/p-1", **{"x-request-id": sent})

    assert request_id == sent


async def test_a_method_that_there_is_not_is_not_repeated() -> None:
    """A method of the sender's own making stands in the log as another one."""
    with capture_logs() as lines:
        async with client(person) as http:
            await http.request("P-3071", "/people/p-1")

    assert [line["method"] for line in lines] == ["other"]


@pytest.mark.parametrize(
    "sent", ["", "a", "a b", "x" * 65, 'a"b', "p-3071", "kiosk-3.1841", "rl_0000000000000000000000000000002C8GjS"]
)
async def test_a_request_without_a_usable_id_is_given_one(sent: str) -> None:
    """An id that is missing, or could be the name of somebody or a key, is replaced."""
    _, request_id = await logged("/people/p-1", **{"x-request-id": sent})

    assert UUID.fullmatch(request_id)


async def test_what_is_no_request_is_passed_on() -> None:
    """Anything but HTTP goes through untouched and unlogged."""
    passed: list[Any] = []

    async def inner(scope: Any, receive: Any, send: Any) -> None:
        passed.append((scope, receive, send))

    scope: Any = {"type": "websocket"}
    receive: Any = object()
    send: Any = object()
    with capture_logs() as lines:
        await wrapped(inner)(scope, receive, send)

    assert (passed, lines) == ([(scope, receive, send)], [])
