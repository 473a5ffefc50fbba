"""What only a real server shows: it judges an answer by its own sight of the request."""

import logging

import httpx
import pytest
from structlog.testing import capture_logs

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
