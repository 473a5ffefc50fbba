"""What only a real server shows: it judges an answer by its own sight of the request."""

import asyncio
import logging

import httpx
import pytest
from structlog.testing import capture_logs

from service.http import paging, tables
from tests.http.firm import the_firm
from tests.http.keys import Keys
from tests.http.listening import listening_service

PATHS = ("/health/live", "/v1/assets", "/v1/assets/FX-9", "/problems")


async def test_head_is_a_head_to_the_server(app_url: str, keys: Keys, caplog: pytest.LogCaptureFixture) -> None:
    """The server, too, takes a HEAD for a HEAD: it misses no body, keeps the connection, and has nothing to warn of."""
    headers = await keys.make("site-lead")
    caplog.set_level(logging.WARNING)
    async with listening_service(app_url) as port, httpx.AsyncClient(base_url=f"http://127.0.0.1:{port}") as http:
        for path in PATHS:
            head = await http.head(path, headers=headers)
            got = await http.get(path, headers=headers)
            assert (head.status_code, head.content) == (got.status_code, b"")
            assert head.headers["content-length"] == str(len(got.content))
    assert [record.getMessage() for record in caplog.records if record.name.startswith("uvicorn")] == []


async def test_the_line_of_a_head_tells_what_a_line_tells(app_url: str, keys: Keys) -> None:
    """What the application learns of a HEAD stands in its line of the log: its method, its route, and who asked."""
    headers = await keys.make("site-lead")
    with capture_logs() as lines:
        async with listening_service(app_url) as port, httpx.AsyncClient(base_url=f"http://127.0.0.1:{port}") as http:
            for path in PATHS:
                await http.head(path, headers=headers)

    assert [(line["method"], line["route"], line.get("role")) for line in lines if line["event"] == "request"] == [
        ("HEAD", "/health/live", None),
        ("HEAD", "/v1/assets", "site-lead"),
        ("HEAD", "/v1/assets/{tag}", "site-lead"),
        ("HEAD", "/problems", None),
    ]


async def test_what_is_no_method_to_the_parser_is_answered_by_it(app_url: str, keys: Keys) -> None:  # noqa: ARG001 - the firms
    """A word that is no method anywhere never reaches the service; a method that it only does not serve does."""
    with capture_logs() as lines:
        async with listening_service(app_url) as port:
            answers = [await answered(port, method) for method in ("FOO", "PROPFIND")]

    assert [answer.partition("\r\n")[0] for answer in answers] == [
        "HTTP/1.1 400 Bad Request",
        "HTTP/1.1 405 Method Not Allowed",
    ]
    assert answers[0].endswith("\r\n\r\nInvalid HTTP request received.")
    assert [line["status"] for line in lines if line["event"] == "request"] == [405]


async def test_the_service_itself_tells_its_methods(app_url: str, keys: Keys) -> None:  # noqa: ARG001 - the firms
    """`OPTIONS *` asks about the service and no address of it (RFC 9110 section 9.3.7); GET of it is 404."""
    async with listening_service(app_url) as port:
        options, got = [await answered(port, method, "*") for method in ("OPTIONS", "GET")]

    status, *headers = options.partition("\r\n\r\n")[0].split("\r\n")
    assert status == "HTTP/1.1 204 No Content"
    assert "allow: DELETE, GET, HEAD, OPTIONS, POST, PUT" in headers
    assert got.partition("\r\n")[0] == "HTTP/1.1 404 Not Found"


async def test_a_table_that_cannot_be_ended_breaks_its_connection(
    app_url: str, keys: Keys, caplog: pytest.LogCaptureFixture, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where a later row of a table cannot be had its reader is not told that it ends there, and the log says why."""
    headers = await keys.make("administrator") | {"Accept": "text/csv"}
    monkeypatch.setattr(paging, "ROWS_AT_ONCE", 1)
    async with listening_service(app_url) as port, httpx.AsyncClient(base_url=f"http://127.0.0.1:{port}") as http:
        await http.post("/v1/events", json=the_firm(), headers=headers | {"Accept": "application/json"})
        whole = await http.get("/v1/sites", headers=headers)
        monkeypatch.delattr(tables, "rows")
        with pytest.raises(httpx.RemoteProtocolError):
            await http.get("/v1/sites", headers=headers)

    assert len(whole.text.splitlines()) == 3
    assert [record.getMessage() for record in caplog.records if record.levelno == logging.ERROR] == [
        "Exception in ASGI application\n"
    ]


async def answered(port: int, method: str, address: str = "/problems") -> str:
    """Ask by a method, and give the whole answer."""
    reader, writer = await asyncio.open_connection("127.0.0.1", port)
    writer.write(f"{method} {address} HTTP/1.1\r\nHost: ledger.test\r\nConnection: close\r\n\r\n".encode())
    answer = await reader.read()
    writer.close()
    await writer.wait_closed()
    return answer.decode()
