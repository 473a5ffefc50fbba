"""`Idempotency-Key` (draft-ietf-httpapi-idempotency-key-header-07): a named request is answered once, to the byte."""

import asyncio
from collections.abc import AsyncIterator
from datetime import UTC, datetime, timedelta
from typing import Any

import httpx
import pytest
from psycopg import AsyncConnection
from structlog.testing import capture_logs

from service.commands.prune import pruned
from service.settings import Settings
from tests.databases.clone import Database
from tests.http.doors import FOREIGN, KEY, OURS
from tests.http.firm import Message, checked, failed, message, the_firm
from tests.http.keys import Keys
from tests.http.listening import Listening, listening_to
from tests.use.test_gathering import stumbling

Headers = dict[str, str]
NAME = '"8e03978e-40d5-43e8-bc93-6894a57f9324"'
"""The example of the draft, section 2.1."""
NAMED = {"idempotency-key": NAME}
OWN = ("content-type", "location", "ledger-position", "preference-applied")


def told(answered: httpx.Response) -> tuple[int, bytes, dict[str, str | None]]:
    """Give what a repeat has to be equal in: status, bytes, and the headers that are the answer's own."""
    return answered.status_code, answered.content, {name: answered.headers.get(name) for name in OWN}


@pytest.mark.parametrize(
    ("said", "status"),
    [
        (checked(), 201),
        ([checked(), failed(), {"kind": "checked"}], 207),
        (checked("FX-0999"), 422),
        ([], 207),
    ],
    ids=["one", "batch", "refused", "nothing"],
)
async def test_a_repeat_is_answered_with_the_same_bytes(
    firm: httpx.AsyncClient, administrator: Headers, said: Message | list[Message], status: int
) -> None:
    """Where without a name a repeat is told that it is one, with a name it is told what the first was told."""
    first = await firm.post("/v1/events", json=said, headers=administrator | NAMED)
    again = await firm.post("/v1/events", json=said, headers=administrator | NAMED)

    assert first.status_code == status
    assert told(again) == told(first)
    assert again.headers["x-request-id"] != first.headers["x-request-id"]


@pytest.mark.parametrize("batch", [False, True], ids=["one", "batch"])
async def test_a_failure_of_the_service_is_not_kept(
    firm: httpx.AsyncClient, administrator: Headers, owner_url: str, batch: bool
) -> None:
    """A message that the service failed at is tried anew when its request comes again by the same name."""
    said: Any = checked(id="0198c1f2-7a10-7c3e-9b55-000000000105")
    said = [checked(), said] if batch else said
    await stumbling(owner_url)
    with capture_logs():
        first = await firm.post("/v1/events", json=said, headers=administrator | NAMED)
    async with await AsyncConnection.connect(owner_url, autocommit=True) as owner:
        await owner.execute("DROP TRIGGER stumbles ON ledger.event")
    again = await firm.post("/v1/events", json=said, headers=administrator | NAMED)

    statuses = [[one["status"] for one in told.json().get("results", ())] for told in (first, again)]
    assert statuses == ([[201, 500], [200, 201]] if batch else [[], []])
    assert [told.status_code for told in (first, again)] == ([207, 207] if batch else [500, 201])


async def test_a_name_belongs_to_one_request(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """The same name with another body, or another preference, is a 422, and nothing of it is recorded."""
    said = checked()
    await firm.post("/v1/events", json=said, headers=administrator | NAMED)
    other = await firm.post("/v1/events", json=failed(), headers=administrator | NAMED)
    batch = await firm.post("/v1/events", json=[said], headers=administrator | NAMED)
    strict = await firm.post("/v1/events", json=said, headers=administrator | NAMED | {"prefer": "handling=strict"})
    log = (await firm.get("/v1/events", headers=administrator)).json()["events"]

    refused = [(one.status_code, one.json()["type"]) for one in (other, batch, strict)]
    assert refused == [(422, "/problems/another-request")] * 3
    assert [event["kind"] for event in log[4:]] == ["checked"]


async def test_a_name_is_of_its_key(firm: httpx.AsyncClient, administrator: Headers, keys: Keys) -> None:
    """Another key and another firm may use the same name: they are answered for themselves."""
    said = checked()
    await firm.post("/v1/events", json=said, headers=administrator | NAMED)
    colleague = await keys.make("manager")
    stranger = await keys.make("administrator", organisation=FOREIGN)
    again = await firm.post("/v1/events", json=said, headers=colleague | NAMED)
    foreign = await firm.post("/v1/events", json=said, headers=stranger | NAMED)

    assert (again.status_code, again.json()["outcome"]) == (200, "repeated")
    assert (foreign.status_code, foreign.json()["type"]) == (422, "/problems/unknown-reference")


async def test_an_answer_is_given_again_to_a_valid_key_alone(firm: httpx.AsyncClient, keys: Keys) -> None:
    """A key that was revoked is told nothing more, also of what it was told before."""
    headers = await keys.make("administrator", key=KEY)
    said = checked()
    first = await firm.post("/v1/events", json=said, headers=headers | NAMED)
    await keys.revoke(KEY)
    again = await firm.post("/v1/events", json=said, headers=headers | NAMED)

    assert (first.status_code, again.status_code) == (201, 401)


@pytest.mark.parametrize("name", ["8e03978e-40d5-43e8-bc93-6894a57f9324", '""', '"a', '"é"', f'"{"a" * 256}"', '"a" b'])
async def test_a_name_that_is_no_string_is_refused(firm: httpx.AsyncClient, administrator: Headers, name: str) -> None:
    """The header is a string in quotes (RFC 9651 section 3.3.3) of 1 to 255 characters; nothing else is guessed at."""
    lines = [(one.encode(), value.encode()) for one, value in (administrator | {"idempotency-key": name}).items()]
    answered = await firm.post("/v1/events", json=checked(), headers=lines)

    assert (answered.status_code, answered.json()["errors"][0]["parameter"]) == (400, "Idempotency-Key")


@pytest.mark.parametrize("name", ['"a"; version=1', '  "a\\"b\\\\"  ', f'"{"a" * 255}"'])
async def test_every_string_is_a_name(firm: httpx.AsyncClient, administrator: Headers, name: str) -> None:
    """Parameters mean nothing, quotes and backslashes may be in it."""
    answered = await firm.post("/v1/events", json=checked(), headers=administrator | {"idempotency-key": name})
    assert answered.status_code == 201


async def test_lines_have_no_name(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """A stream of lines has no end that could be kept: it is refused with a name, before anything is recorded."""
    headers = administrator | NAMED | {"content-type": "application/x-ndjson"}
    answered = await firm.post("/v1/events", content=b"{}\n", headers=headers)
    assert (answered.status_code, answered.json()["errors"][0]["parameter"]) == (400, "Idempotency-Key")


@pytest.fixture
async def by_the_clock(app_url: str, keys: Keys) -> AsyncIterator[tuple[Listening, list[datetime]]]:  # noqa: ARG001 - the firms
    """Give a service that goes by a clock of the test's."""
    clock = [datetime.now(UTC)]
    async with listening_to(app_url, clock=lambda: clock[0]) as service:
        yield service, clock


async def test_a_name_is_free_after_seven_days(
    by_the_clock: tuple[Listening, list[datetime]], administrator: Headers, database: Database
) -> None:
    """What was answered seven days ago is answered anew; `prune` forgets it."""
    service, clock = by_the_clock
    async with httpx.AsyncClient(base_url=service.address, headers=administrator | NAMED) as http:
        said = the_firm()
        first = await http.post("/v1/events", json=said)
        clock[0] += timedelta(days=6, hours=23)
        within = await http.post("/v1/events", json=said)
        clock[0] += timedelta(hours=1)
        after = await http.post("/v1/events", json=said)
    async with await AsyncConnection.connect(database.owner_url) as owner:
        kept = "SELECT set_config('ledger.organisation', %s, true), (SELECT count(*) FROM ledger.given_answer)"
        await pruned(Settings(migration_database_url=database.owner_url), None, clock[0] + timedelta(days=6))
        before = await (await owner.execute(kept, [str(OURS)])).fetchone()
        await pruned(Settings(migration_database_url=database.owner_url), None, clock[0] + timedelta(days=7))
        left = await (await owner.execute(kept, [str(OURS)])).fetchone()

    assert told(within) == told(first)
    assert [result["outcome"] for result in after.json()["results"]] == ["repeated"] * 4
    assert (before and before[1], left and left[1]) == (1, 0)


async def test_two_at_once_are_told_the_same(app_url: str, keys: Keys) -> None:
    """Requests of one name at once record once, and all are told what the first of them to end was told."""
    headers = await keys.make("administrator") | NAMED
    said = the_firm()
    async with listening_to(app_url) as service, httpx.AsyncClient(base_url=service.address, headers=headers) as http:
        answers = await asyncio.gather(*(http.post("/v1/events", json=said) for _ in range(8)))
        log = (await http.get("/v1/events")).json()["events"]

    assert {told(answered)[:2] for answered in answers} == {told(answers[0])[:2]}
    assert len(log) == 4


async def test_what_the_service_is_at_fault_for_is_not_kept(app_url: str, keys: Keys) -> None:
    """A request that met no connection is a 503; its repeat is not answered so, but recorded."""
    headers = await keys.make("administrator") | NAMED
    async with listening_to(app_url) as service, httpx.AsyncClient(base_url=service.address, headers=headers) as http:
        service.ledger.pool.timeout = 0.1
        held = [await service.ledger.pool.getconn() for _ in range(service.ledger.pool.max_size)]
        away = await http.post("/v1/events", json=the_firm())
        for conn in held:
            await service.ledger.pool.putconn(conn)
        recorded = await http.post("/v1/events", json=the_firm())
        fresh = message("trained", person="p-7", competences=["wear"])
        other = await http.post("/v1/events", json=fresh, headers={"idempotency-key": '"another"'})

    assert (away.status_code, recorded.status_code, other.status_code) == (503, 207, 201)
