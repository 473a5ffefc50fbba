"""The receipt of what is posted for a unit at another site: whether it may be used, and nothing else of it."""

from typing import Any

import httpx
import pytest

from tests.http.firm import Message, ago, failed, issued, message, registered
from tests.http.keys import Keys

Headers = dict[str, str]
ELSEWHERE: dict[str, Any] = {"tag": "EY-1", "phase": None, "standing": None, "reasons": []}


@pytest.fixture
async def dock(firm: httpx.AsyncClient, administrator: Headers, keys: Keys) -> Headers:
    """Give the headers of a key of Harrow Dock; East Yard has a unit of its own."""
    said = registered("EY-1", site="east-yard")
    assert (await firm.post("/v1/events", json=said, headers=administrator)).status_code == 201
    return await keys.make("site-app", ["harrow-dock"])


def cleaned() -> Message:
    """Clean the unit."""
    return message("cleaned", asset="EY-1", scope="unit", method="wiped")


async def told(http: httpx.AsyncClient, headers: Headers, said: Message) -> list[Any]:
    """Post a message, its repeat, and both in a batch with another one; give what each receipt shows of the unit."""
    first, again = [await http.post("/v1/events", json=said, headers=headers) for _ in range(2)]
    other = message(said["kind"], **{name: value for name, value in said.items() if name not in {"id", "kind"}})
    batch = await http.post("/v1/events", json=[said, other, other], headers=headers)
    results = batch.json()["results"]

    assert (first.status_code, again.status_code) == (201, 200)
    assert [result["status"] for result in results] == [200, 201, 200]
    return [answered["asset"] for answered in (first.json(), again.json(), *results)]


@pytest.mark.parametrize(
    ("said", "do_not_use"),
    [(cleaned(), False), (failed("EY-1"), True)],
    ids=("cleaned", "failed"),
)
async def test_a_receipt_tells_whether_a_unit_elsewhere_may_be_used(
    firm: httpx.AsyncClient, dock: Headers, said: Message, do_not_use: bool
) -> None:
    """Recorded or repeated, alone or in a batch: of a unit at no site of the key only the one word for safety."""
    assert await told(firm, dock, said) == [ELSEWHERE | {"do_not_use": do_not_use}] * 5


async def test_what_another_site_found_is_not_told(
    firm: httpx.AsyncClient, dock: Headers, administrator: Headers, keys: Keys
) -> None:
    """A unit withdrawn at its own site is not to be used anywhere; why it is not, is told to its own site's keys."""
    assert (await firm.post("/v1/events", json=failed("EY-1"), headers=administrator)).status_code == 201
    yard = await keys.make("site-app", ["east-yard"])

    assert await told(firm, dock, cleaned()) == [ELSEWHERE | {"do_not_use": True}] * 5
    here = await firm.post("/v1/events", json=cleaned(), headers=yard)
    assert here.json()["asset"] == {
        "tag": "EY-1",
        "phase": "quarantined",
        "standing": "out-of-scope",
        "do_not_use": True,
        "reasons": ["withdrawal"],
    }


async def test_a_unit_that_comes_to_a_site_is_told_to_it(
    firm: httpx.AsyncClient, dock: Headers, administrator: Headers
) -> None:
    """Handed out by a site, a unit is at that site from then on and shown to it whole; once it left again, no more."""
    said = issued("EY-1", site="harrow-dock", occurred_at=ago(hours=1))
    here = await firm.post("/v1/events", json=said, headers=dock)
    back = message("received", asset="EY-1", site="east-yard", occurred_at=ago(minutes=30))
    assert (await firm.post("/v1/events", json=back, headers=administrator)).status_code == 201
    gone = await firm.post("/v1/events", json=said, headers=dock)

    assert here.json()["asset"] == {
        "tag": "EY-1",
        "phase": "issued",
        "standing": "overdue",
        "do_not_use": True,
        "reasons": ["used-without-check"],
    }
    assert gone.json()["asset"] == ELSEWHERE | {"do_not_use": False}
