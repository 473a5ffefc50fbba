"""What contradicts the history of a unit at another site: told to that site's keys and to the firm's, to no other."""

from typing import Any

import httpx
import pytest

from tests.http.firm import Message, ago, failed, issued, message, registered
from tests.http.keys import Keys

Headers = dict[str, str]
COMPETENCE = {"code": "unknown-competence", "reasons": ["release"]}
NOT_RECEIVED, OF_ANOTHER_SITE = {"code": "not-received"}, {"code": "unit-of-another-site"}


@pytest.fixture
async def yard(firm: httpx.AsyncClient, administrator: Headers, keys: Keys) -> Headers:
    """Give the headers of a lead of East Yard, which has a unit that failed three hours ago."""
    said = [
        registered("EY-1", site="east-yard", occurred_at=ago(hours=5)),
        failed("EY-1", site="east-yard", occurred_at=ago(hours=3)),
    ]
    answered = await firm.post("/v1/events", json=said, headers=administrator)
    assert [result["status"] for result in answered.json()["results"]] == [201, 201]
    return await keys.make("site-lead", ["east-yard"])


@pytest.fixture
async def dock(keys: Keys) -> Headers:
    """Give the headers of a lead of Harrow Dock."""
    return await keys.make("site-lead", ["harrow-dock"])


def worn() -> Message:
    """Wear East Yard's unit at Harrow Dock."""
    return message("worn", asset="EY-1", site="harrow-dock", wearer="p-3071", occurred_at=ago(hours=2))


def released() -> Message:
    """Release it from Harrow Dock."""
    return message("released", asset="EY-1", site="harrow-dock", occurred_at=ago(hours=2))


async def told(http: httpx.AsyncClient, said: Message, key: Headers) -> list[Any]:
    """Post a message, post it again and read its event; give the conflicts that the key is told each time."""
    posted, again = [await http.post("/v1/events", json=said, headers=key) for _ in range(2)]
    read = await http.get(f"/v1/events/{said['id']}", headers=key)
    assert (posted.status_code, again.status_code, read.status_code) == (201, 200, 200)
    return [answered.json()["conflicts"] for answered in (posted, again, read)]


@pytest.mark.parametrize(
    ("said", "told_there", "told_to_the_firm"),
    [
        (worn(), [NOT_RECEIVED], ["worn-while-quarantined", "not-received"]),
        (
            released(),
            [COMPETENCE, OF_ANOTHER_SITE],
            ["unknown-competence", "released-without-ground", "unit-of-another-site"],
        ),
    ],
    ids=("worn", "released"),
)
async def test_why_a_unit_is_held_at_its_own_site_is_not_told_elsewhere(
    firm: httpx.AsyncClient,
    yard: Headers,  # noqa: ARG001 - whose unit it is
    dock: Headers,
    administrator: Headers,
    said: Message,
    told_there: list[Any],
    told_to_the_firm: list[str],
) -> None:
    """Recorded, repeated or read: another site is told that the unit is elsewhere, the firm's office what it breaks."""
    assert await told(firm, said, dock) == [told_there] * 3
    read = await firm.get(f"/v1/events/{said['id']}", headers=administrator)
    assert [one["code"] for one in read.json()["conflicts"]] == told_to_the_firm


async def test_a_retirement_elsewhere_is_not_told_by_silence(
    firm: httpx.AsyncClient, yard: Headers, dock: Headers
) -> None:
    """Of a unit that its site has retired another site is told what it would be of any unit there."""
    retired = message("retired", asset="EY-1", site="east-yard", reason="worn-out", occurred_at=ago(hours=2.5))
    assert (await firm.post("/v1/events", json=retired, headers=yard)).status_code == 201

    assert await told(firm, worn(), dock) == [[NOT_RECEIVED]] * 3


async def test_a_unit_that_comes_to_a_site_brings_what_contradicts_it(
    firm: httpx.AsyncClient, yard: Headers, dock: Headers
) -> None:
    """Handed out by a site a unit is there, and the site is told why it should not have been; once it left, no more."""
    said = issued("EY-1", site="harrow-dock", occurred_at=ago(hours=1))
    here = await told(firm, said, dock)
    back = message("received", asset="EY-1", site="east-yard", occurred_at=ago(minutes=30))
    assert (await firm.post("/v1/events", json=back, headers=yard)).status_code == 201
    gone = await firm.get(f"/v1/events/{said['id']}", headers=dock)

    assert [[one["code"] for one in conflicts] for conflicts in here] == [
        ["issued-while-quarantined", "not-received", "not-ready-to-issue"]
    ] * 3
    assert "withdrawal" in here[0][-1]["reasons"]
    assert gone.json()["conflicts"] == [NOT_RECEIVED]


async def test_the_report_of_conflicts_does_not_tell_it_either(
    firm: httpx.AsyncClient,
    yard: Headers,  # noqa: ARG001 - whose unit it is
    dock: Headers,
    administrator: Headers,
) -> None:
    """The row stays with the site that posted; words, severity and sentence tell of the unit to the firm alone."""
    posted = await firm.post("/v1/events", json=worn(), headers=dock)
    assert posted.status_code == 201
    path = "/v1/exceptions/conflicting-history"
    [of_dock], [of_firm] = [
        (await firm.get(path, params={"site": "harrow-dock"}, headers=key)).json()["rows"]
        for key in (dock, administrator)
    ]

    assert of_firm["reasons"] == ["not-received", "worn-while-quarantined"]
    assert of_dock == of_firm | {
        "severity": "medium",
        "reason": "seen at another site without having been received there",
        "reasons": ["not-received"],
    }
