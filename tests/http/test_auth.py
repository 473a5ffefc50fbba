"""Keys at the door."""

from collections.abc import AsyncIterator
from datetime import datetime, timedelta
from uuid import uuid4

import httpx
import pytest
from litestar import get, post

from service.domain.caller import Role
from service.http.answers import Answer, answer
from service.http.auth import admit
from service.http.request import Asked
from service.ledger import Ledger
from service.store.connecting import Pool, make_pool
from tests.databases.clone import Template, cloned
from tests.http.conftest import made_firms
from tests.http.doors import KEY, NOON, client
from tests.http.keys import Keys


@pytest.fixture(scope="module")
async def shared(template: Template) -> AsyncIterator[tuple[Keys, Pool]]:
    """Give what makes keys, and the pool they are looked up with; each test makes its own."""
    with cloned(template) as clone:
        async with made_firms(clone.owner_url) as keys, make_pool(clone.app_url, 4) as pool:
            yield keys, pool


@pytest.fixture
def keys(shared: tuple[Keys, Pool]) -> Keys:
    """Give what makes keys."""
    return shared[0]


@pytest.fixture
def ledger(shared: tuple[Keys, Pool], clock: list[datetime]) -> Ledger:
    """Give the database as the role that serves."""
    return Ledger(pool=shared[1], clock=lambda: clock[0])


@get("/for-managers", may=frozenset({"manager", "auditor"}))
async def for_managers(request: Asked) -> Answer:
    """Say who asks."""
    return answer(request.auth)


@get("/for-anyone", may=None)
async def for_anyone(request: Asked) -> Answer:  # noqa: ARG001 - routes are given it
    """Say nothing."""
    return answer({})


@get("/for-nobody")
async def for_nobody(request: Asked) -> Answer:  # noqa: ARG001 - routes are given it
    """Be forgotten by whoever wrote the route."""
    return answer({})


@post("/for-managers", may=frozenset({"manager"}))
async def posted(request: Asked) -> Answer:
    """Say how much was posted."""
    return answer(len(await request.body()))


async def asked(ledger: Ledger, path: str, headers: dict[str, str]) -> httpx.Response:
    """Ask with these headers."""
    async with client(for_managers, for_anyone, for_nobody, posted, admit=admit, ledger=ledger) as http:
        return await http.get(path, headers=headers)


async def test_a_key_says_who_asks(ledger: Ledger, keys: Keys) -> None:
    """A valid key gives its organisation, role, sites and end to everything behind the door."""
    key = await keys.make("manager", ["harrow-dock"], key=KEY, expires_at=NOON + timedelta(seconds=1))
    answered = await asked(ledger, "/for-managers", key)

    assert answered.status_code == 200
    assert answered.json() == {
        "organisation": "0198c1f2-0000-7000-8000-000000000001",
        "key": "0198c1f2-0000-7000-8000-0000000000a1",
        "role": "manager",
        "sites": ["harrow-dock"],
        "expires_at": "2026-03-02T12:00:01Z",
    }


@pytest.mark.parametrize("scheme", ["bearer", "BEARER", "Bearer  "])
async def test_the_scheme_is_read_as_the_standard_says(ledger: Ledger, keys: Keys, scheme: str) -> None:
    """The scheme's case does not matter (RFC 9110 section 11.1)."""
    secret = (await keys.make("manager"))["authorization"].removeprefix("Bearer ")

    assert (await asked(ledger, "/for-managers", {"authorization": f"{scheme} {secret}"})).status_code == 200


@pytest.mark.parametrize("header", [None, "", "Basic cC0xOnNlY3JldA==", "rl_key", "Bearerrl_key"])
async def test_without_a_key_there_is_no_answer(ledger: Ledger, header: str | None) -> None:
    """Without a bearer key the answer is 401 and asks for one (RFC 6750 section 3)."""
    answered = await asked(ledger, "/for-managers", {} if header is None else {"authorization": header})

    assert (answered.status_code, answered.json()["type"]) == (401, "/problems/unauthenticated")
    assert answered.headers["www-authenticate"] == "Bearer"


@pytest.mark.parametrize(
    "header",
    [
        "Bearer",
        "Bearer x",
        "Bearer rl_" + "a" * 36,
        "Bearer rl_0000000000000000000000000000002C8GjS",
        "Bearer " + "x" * 4_000,
        "Bearer rl_\xfc" + "a" * 35,
    ],
    ids=("none", "short", "with a wrong check", "unknown", "long", "no ASCII"),
)
async def test_a_key_that_is_none_is_refused(ledger: Ledger, header: str) -> None:
    """A garbled or unknown key is a 401 that says no more than that it is not valid."""
    answered = await asked(ledger, "/for-managers", {"authorization": header.encode("latin-1")})  # type: ignore[dict-item] # bytes, as a peer may send

    assert (answered.status_code, answered.json()["type"]) == (401, "/problems/invalid-key")
    assert answered.headers["www-authenticate"] == 'Bearer error="invalid_token"'


async def test_a_key_ends_at_its_moment(ledger: Ledger, keys: Keys, clock: list[datetime]) -> None:
    """A key is valid before the moment it expires, and at that moment no more."""
    key = await keys.make("manager", expires_at=NOON)

    clock[0] = NOON - timedelta(microseconds=1)
    assert (await asked(ledger, "/for-managers", key)).status_code == 200
    clock[0] = NOON
    assert (await asked(ledger, "/for-managers", key)).status_code == 401


async def test_a_revoked_key_is_refused_at_once(ledger: Ledger, keys: Keys) -> None:
    """A key that is revoked gets no further answer, and no other reason than an unknown one."""
    key_id = uuid4()
    key = await keys.make("manager", key=key_id)
    before = await asked(ledger, "/for-managers", key)
    await keys.revoke(key_id)
    after = await asked(ledger, "/for-managers", key)

    assert (before.status_code, after.status_code) == (200, 401)
    assert after.json()["detail"] == "This key is unknown, revoked or expired: ask an administrator for one."


@pytest.mark.parametrize(
    ("role", "status"),
    [
        ("site-app", 403),
        ("site-lead", 403),
        ("manager", 200),
        ("integrator", 403),
        ("auditor", 200),
        ("worker-representative", 403),
        ("administrator", 403),
    ],
)
async def test_a_route_answers_its_roles(ledger: Ledger, keys: Keys, role: Role, status: int) -> None:
    """A role that a route does not name gets a 403, an administrator among them."""
    answered = await asked(ledger, "/for-managers", await keys.make(role))

    assert answered.status_code == status
    if status == 403:
        assert answered.headers["www-authenticate"] == 'Bearer error="insufficient_scope"'
        assert answered.json()["detail"].endswith("Roles that do: auditor, manager.")


async def test_a_route_that_names_no_role_answers_nobody(ledger: Ledger, keys: Keys) -> None:
    """A route whose roles were forgotten is closed, even to an administrator."""
    answered = await asked(ledger, "/for-nobody", await keys.make("administrator"))

    assert answered.status_code == 403


async def test_an_open_route_looks_at_no_key(ledger: Ledger) -> None:
    """A route for anyone answers without a key, and with a wrong one."""
    assert (await asked(ledger, "/for-anyone", {})).status_code == 200
    assert (await asked(ledger, "/for-anyone", {"authorization": "Bearer wrong"})).status_code == 200


async def test_the_body_of_a_stranger_is_not_read(ledger: Ledger) -> None:
    """A body without a key is refused before a byte of it is asked for."""
    asked_for: list[str] = []

    async def body() -> AsyncIterator[bytes]:
        asked_for.append("a piece")
        yield b"{}"

    async with client(posted, admit=admit, ledger=ledger) as http:
        answered = await http.post("/for-managers", content=body())

    assert (answered.status_code, asked_for) == (401, [])


async def test_methods_can_be_asked_for_without_a_key(ledger: Ledger) -> None:
    """OPTIONS tells the methods of an address and needs no key."""
    async with client(for_managers, admit=admit, ledger=ledger) as http:
        answered = await http.options("/for-managers")

    assert (answered.status_code, set(answered.headers["allow"].split(", "))) == (204, {"GET", "OPTIONS"})
