"""Read your write: the position that an answer carries, and that a reader can demand."""

import asyncio
from uuid import UUID

import httpx
import pytest

from service.http import position
from service.http.position import HEADER
from service.store.append import append
from service.store.connecting import connect
from service.store.scope import set_organisation
from tests.http.conftest import Refusing
from tests.http.doors import FOREIGN, OURS
from tests.http.firm import issued, site, the_firm
from tests.http.keys import Keys
from tests.http.listening import Listening, listening_to
from tests.http.test_long_poll import PATIENCE, asked
from tests.separation.doors import DOORS
from tests.store.making import an_entry

Headers = dict[str, str]
READING = [door.path for door in DOORS.values() if door.method == "GET"]
NAMED = {"event_id": UUID(int=1), "rejected_id": UUID(int=1), "tag": "FX-0142", "ref": "harrow-dock"}
NAMED |= {"report": "used-without-check", "webhook_id": UUID(int=1)}


def demand(seq: int | str) -> Headers:
    """Demand a position."""
    return {HEADER: str(seq)}


@pytest.fixture
def _in_a_hurry(monkeypatch: pytest.MonkeyPatch) -> None:
    """Wait hardly at all for a position."""
    monkeypatch.setattr(position, "PATIENCE", 0.05)


async def test_what_was_recorded_has_a_position(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """An event's position is its seq, a repeat's that of the first time, a batch's the highest; a refusal has none."""
    said = issued()
    one = await firm.post("/v1/events", json=said, headers=administrator)
    again = await firm.post("/v1/events", json=said, headers=administrator)
    batch = await firm.post("/v1/events", json=[issued(), issued(), said, {}], headers=administrator)
    place, body = "/v1/sites/north-quay", site("north-quay")
    defined = {name: body[name] for name in body if name not in {"id", "kind", "site"}}
    put = await firm.put(place, json=defined, headers=administrator | {"if-none-match": "*"})
    refused = await firm.post("/v1/events", json={}, headers=administrator)
    all_refused = await firm.post("/v1/events", json=[{}], headers=administrator)

    assert [answered.headers[HEADER] for answered in (one, again, batch, put)] == ["5", "5", "7", "8"]
    assert (one.json()["seq"], put.status_code) == (5, 201)
    assert [HEADER.lower() in answered.headers for answered in (refused, all_refused)] == [False, False]


async def test_a_position_that_is_there_is_read(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """A reader that demands what is recorded is answered as if it demanded nothing."""
    plain = await firm.get("/v1/events", headers=administrator)
    demanded = [await firm.get("/v1/events", headers=administrator | demand(seq)) for seq in (0, 1, 4)]

    assert {answered.content for answered in demanded} == {plain.content}


async def appended(app_url: str, commits: asyncio.Event, written: asyncio.Event) -> None:
    """Record an event on a connection that is not the service's, and commit when told."""
    async with await connect(app_url) as conn, conn.transaction():
        await set_organisation(conn, OURS)
        await append(conn, OURS, context_seq=0, entries=[an_entry()])
        written.set()
        await commits.wait()


async def is_watched(service: Listening) -> None:
    """Wait until somebody waits for the log."""
    while not service.ledger.heads.watched:  # noqa: ASYNC110 - the service tells nobody of its watches
        await asyncio.sleep(0)


async def test_a_position_on_its_way_is_waited_for(app_url: str, keys: Keys, monkeypatch: pytest.MonkeyPatch) -> None:
    """A reader that demands what another connection is about to commit is answered once it has, with it."""
    monkeypatch.setattr(position, "PATIENCE", PATIENCE)
    commits, written = asyncio.Event(), asyncio.Event()
    async with (
        asyncio.timeout(PATIENCE),
        listening_to(app_url) as service,
        asked(service, await keys.make("administrator")) as http,
    ):
        writing = asyncio.create_task(appended(app_url, commits, written))
        await written.wait()
        reading = asyncio.create_task(http.get("/v1/events", headers=demand(1)))
        await is_watched(service)
        assert not reading.done()
        commits.set()
        await writing
        told = await reading
    assert (told.status_code, [event["seq"] for event in told.json()["events"]]) == (200, [1])


@pytest.mark.usefixtures("_in_a_hurry")
async def test_a_position_that_never_comes_is_told(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """A reader that demands what nobody recorded is told with 503 when to ask again."""
    told = await firm.get("/v1/sites", headers=administrator | demand(5))

    assert (told.status_code, told.json()["type"]) == (503, "/problems/position-not-reached")
    assert told.headers["retry-after"] == "1"
    assert told.json()["detail"] == "Position 5 has not arrived here yet: ask again in 1 s."


@pytest.mark.usefixtures("_in_a_hurry")
@pytest.mark.parametrize("path", READING)
async def test_every_reading_takes_a_demand(refusing: Refusing, path: str) -> None:
    """There is no address that answers a reader with less than it demands; HEAD is a reading, too."""
    where, headers = path.format_map(NAMED), refusing.administrator | demand(10**18 - 1)
    told = [await refusing.http.request(method, where, headers=headers) for method in ("GET", "HEAD")]

    assert [answered.status_code for answered in told] == [503, 503]


@pytest.mark.usefixtures("_in_a_hurry")
@pytest.mark.parametrize(
    ("path", "said"),
    [
        ("/v1/scans/interpretation", {"scans": ["FX-0142"]}),
        ("/v1/recalls/preview", {"action": "stop-use", "criteria": [{"model": "ar-hood"}]}),
    ],
)
async def test_a_question_that_is_posted_takes_a_demand(
    firm: httpx.AsyncClient, administrator: Headers, path: str, said: dict[str, object]
) -> None:
    """What reads though it is posted answers with no less than is demanded either."""
    there, ahead = [await firm.post(path, json=said, headers=administrator | demand(seq)) for seq in (4, 5)]

    assert (there.status_code, ahead.status_code) == (200, 503), there.text
    assert ahead.json()["type"] == "/problems/position-not-reached"


@pytest.mark.usefixtures("_in_a_hurry")
async def test_a_position_tells_nothing_of_another_firm(
    firm: httpx.AsyncClient, keys: Keys, administrator: Headers
) -> None:
    """To a firm without events every position is one that has not come, whatever another firm recorded."""
    foreign = await keys.make("administrator", organisation=FOREIGN)
    ours = await firm.get("/v1/sites", headers=administrator | demand(3))
    theirs = [await firm.get("/v1/sites", headers=foreign | demand(seq)) for seq in (3, 9)]

    assert ours.status_code == 200
    assert [answered.status_code for answered in theirs] == [503, 503]
    assert theirs[0].text.replace("3 has", "9 has") == theirs[1].text


@pytest.mark.parametrize("text", ["-1", "1.5", "five", "1, 2", "9" * 19, "+5", ""])
async def test_what_is_no_position_is_refused(refusing: Refusing, text: str) -> None:
    """A demand that is no whole number is refused by the header's name."""
    told = await refusing.http.get("/v1/sites", headers=refusing.administrator | demand(text))

    assert (told.status_code, told.json()["errors"][0]["parameter"]) == (400, HEADER)


async def test_a_demand_is_for_readings(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """Whoever posts is not held up by a position, and who has no key is not told of one."""
    posted = await firm.post("/v1/events", json=issued(), headers=administrator | demand(99))
    stranger = await firm.get("/v1/sites", headers=demand("five"))
    health = await firm.get("/health/live", headers=demand(99))

    assert (posted.status_code, stranger.status_code, health.status_code) == (201, 401, 200)


async def test_a_position_is_found_at_any_process(app_url: str, keys: Keys) -> None:
    """What one process answered is demanded of another, and is there."""
    headers = await keys.make("administrator")
    async with (
        asyncio.timeout(PATIENCE),
        listening_to(app_url) as service,
        listening_to(app_url) as other,
        asked(service, headers) as http,
        asked(other, headers) as elsewhere,
    ):
        newest = (await http.post("/v1/events", json=the_firm())).headers[HEADER]
        read = await elsewhere.get("/v1/assets/FX-0142", headers=demand(newest))
    assert (newest, read.status_code, read.json()["judged_to"]) == ("4", 200, 4)
