"""What becomes of exceptions."""

import psycopg
import pytest
from litestar import get, put
from litestar.exceptions import InternalServerException
from litestar.params import FromPath
from psycopg_pool import PoolTimeout
from structlog.testing import capture_logs

from service.domain import errors
from service.http.answers import Answer, answer
from service.http.path import FromRef
from service.http.request import Asked
from tests.http.doors import client

FAILURES: dict[str, Exception] = {
    "unauthenticated": errors.Unauthenticated(),
    "invalid-key": errors.InvalidKey(),
    "forbidden": errors.Forbidden("Not for this role."),
    "mismatch": errors.VersionMismatch(7),
    "mismatch-of-none": errors.VersionMismatch(None),
    "required": errors.PreconditionRequired(7),
    "secret": RuntimeError("rl_secret of p-3071"),
    "pool": PoolTimeout("no connection in time"),
    "lost": psycopg.OperationalError("server closed the connection"),
    "stopping": psycopg.errors.AdminShutdown("terminating connection"),
    "locked": psycopg.errors.LockNotAvailable("canceling statement due to lock timeout"),
    "canceled": psycopg.errors.QueryCanceled("canceling statement due to statement timeout"),
    "idle": psycopg.errors.IdleInTransactionSessionTimeout("terminating connection"),
    "framework": InternalServerException("stream consumed"),
    "integrity": psycopg.errors.UniqueViolation("duplicate key"),
}


@get("/failing/{name:str}")
async def failing(request: Asked, name: FromPath[str]) -> Answer:  # noqa: ARG001 - routes are given it
    """Fail as named."""
    raise FAILURES[name]


@put("/named/{ref:str}")
async def named(request: Asked, ref: FromRef) -> Answer:  # noqa: ARG001 - routes are given it
    """Say back the reference."""
    return answer(ref)


@pytest.mark.parametrize(
    ("name", "status", "headers"),
    [
        ("unauthenticated", 401, {"www-authenticate": "Bearer"}),
        ("invalid-key", 401, {"www-authenticate": 'Bearer error="invalid_token"'}),
        ("forbidden", 403, {"www-authenticate": 'Bearer error="insufficient_scope"'}),
        ("mismatch", 412, {"etag": '"7"'}),
        ("mismatch-of-none", 412, {"etag": None}),
        ("required", 428, {"etag": '"7"'}),
    ],
)
async def test_a_refusal_has_its_status_and_headers(name: str, status: int, headers: dict[str, str]) -> None:
    """A refusal is problem details with the headers its status asks for (RFC 6750 section 3, RFC 9110, RFC 6585)."""
    async with client(failing) as http:
        answered = await http.get(f"/failing/{name}")

    assert answered.status_code == answered.json()["status"] == status
    assert answered.headers["content-type"] == "application/problem+json"
    assert {name: answered.headers.get(name) for name in headers} == headers


@pytest.mark.parametrize("name", ["secret", "integrity", "framework"])
async def test_an_unexpected_failure_is_a_500_and_logged(name: str) -> None:
    """What nobody expected is a 500 that tells nothing of the inside, and an error in the log with its trace."""
    with capture_logs() as logs:
        async with client(failing) as http:
            answered = await http.get(f"/failing/{name}")

    assert answered.json() == {
        "type": "/problems/internal",
        "title": "The service failed",
        "status": 500,
        "detail": "The fault is the service's own. 'X-Request-Id' finds it in the log.",
    }
    assert answered.status_code == 500
    errors_logged = [line for line in logs if line["log_level"] == "error"]
    assert [(line["event"], line["exc_info"]) for line in errors_logged] == [("request failed", FAILURES[name])]


@pytest.mark.parametrize("name", ["pool", "lost", "stopping", "locked", "canceled", "idle"])
async def test_a_database_that_is_away_is_a_503(name: str) -> None:
    """A database that cannot be reached or is busy is a 503 to be tried again, and a warning in the log."""
    with capture_logs() as logs:
        async with client(failing) as http:
            answered = await http.get(f"/failing/{name}")

    assert (answered.status_code, answered.json()["type"]) == (503, "/problems/unavailable")
    assert answered.json()["detail"].startswith("Others had kept" if name == "locked" else "The service cannot reach")
    assert answered.headers["retry-after"] == "1"
    assert [line["log_level"] for line in logs] == ["warning", "info"]


@pytest.mark.parametrize(
    ("method", "path", "status", "code"),
    [
        ("GET", "/nowhere", 404, "no-such-address"),
        ("GET", "/named/FX-0142/more", 404, "no-such-address"),
        ("POST", "/named/FX-0142", 405, "method-not-allowed"),
        ("TRACE", "/named/FX-0142", 405, "method-not-allowed"),
        ("PUT", "/named/a%20b", 404, "not-found"),
        ("PUT", "/named/%00", 404, "not-found"),
        ("PUT", "/named/%FF", 404, "not-found"),
        ("PUT", "/named/a%0A", 404, "not-found"),
        ("PUT", "/named/" + "a" * 41, 404, "not-found"),
        ("PUT", "/named/..%2F..%2Fetc", 404, "no-such-address"),
    ],
)
async def test_a_wrong_address_is_a_problem_too(method: str, path: str, status: int, code: str) -> None:
    """Wrong addresses, methods and names are problem details like everything else, whatever stands in them."""
    async with client(named) as http:
        answered = await http.request(method, path)

    assert (answered.status_code, answered.json()["type"]) == (status, f"/problems/{code}")
    assert answered.headers["content-type"] == "application/problem+json"


async def test_a_wrong_method_is_told_the_right_ones() -> None:
    """405 lists the methods that the address takes (RFC 9110 section 15.5.6)."""
    async with client(named) as http:
        answered = await http.get("/named/FX-0142")

    assert set(answered.headers["allow"].split(", ")) == {"OPTIONS", "PUT"}


async def test_a_request_out_of_form_is_refused() -> None:
    """A request that the protocol does not allow is a 400, never a fault of the service."""
    async with client(named) as http:
        answered = await http.put("/named/FX-0142", headers={"host": "no host"})

    assert (answered.status_code, answered.json()["type"]) == (400, "/problems/bad-request")
