"""The summary and what is behind it."""

from typing import Any

import httpx
import pytest

from tests.http.doors import FOREIGN
from tests.http.firm import Message, ago, checked, failed, issued, registered, site
from tests.http.keys import Keys

Headers = dict[str, str]


async def post(http: httpx.AsyncClient, headers: Headers, *said: Message) -> None:
    """Post events that are all recorded."""
    answered = await http.post("/v1/events", json=said, headers=headers)
    assert {result["status"] for result in answered.json()["results"]} == {201}


async def summary(http: httpx.AsyncClient, headers: Headers, **asked: Any) -> Any:
    """Ask for the summary."""
    answered = await http.get("/v1/compliance", params=asked, headers=headers)
    assert answered.status_code == 200, answered.text
    return answered.json()


async def test_the_summary_tells_of_all_sites(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """The summary adds up every site, and says what it was judged from."""
    await post(firm, administrator, registered("EY-0001", site="east-yard"), issued(), checked(), issued("EY-0001"))
    told = await summary(firm, administrator)

    assert list(told)[:5] == ["as_at", "known_at", "judged_to", "rules_to", "projection"]
    assert (told["judged_to"], told["rules_to"], told["projection"]) == (8, 3, False)
    assert [(site["site"], site["units"], site["in_scope"]) for site in told["sites"]] == [
        ("east-yard", 1, 1),
        ("harrow-dock", 1, 1),
    ]
    assert (told["total"]["units"], told["total"]["in_scope"]) == (2, 2)


async def test_a_failure_is_in_the_summary_at_once(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """What is acknowledged counts in the next answer."""
    await post(firm, administrator, issued(), checked())
    before = (await summary(firm, administrator))["total"]
    await post(firm, administrator, failed())
    after = (await summary(firm, administrator))["total"]

    assert (before["compliant"], before["rate"]) == (1, 1.0)
    assert (after["compliant"], after["rate"], after["by_standing"]["do-not-use"]) == (0, 0.0, 1)


async def test_a_late_event_changes_yesterday_but_not_what_was_known(
    firm: httpx.AsyncClient, administrator: Headers
) -> None:
    """An answer asked again by its two moments is the same byte for byte, whatever came in since."""
    await post(firm, administrator, issued(occurred_at=ago(hours=28)), checked(occurred_at=ago(hours=27)))
    moment = ago(hours=24)
    first = await firm.get("/v1/compliance", params={"as_at": moment}, headers=administrator)
    known = first.json()["known_at"]
    await post(firm, administrator, failed(occurred_at=ago(hours=26)))
    again = await firm.get("/v1/compliance", params={"as_at": moment, "known_at": known}, headers=administrator)
    now = await firm.get("/v1/compliance", params={"as_at": moment}, headers=administrator)

    assert again.content == first.content
    assert (first.json()["total"]["compliant"], now.json()["total"]["compliant"]) == (1, 0)


async def test_the_summary_of_one_site(firm: httpx.AsyncClient, keys: Keys, administrator: Headers) -> None:
    """A site can be asked for alone; a key of a site gets that one, and another is not there for it."""
    lead = await keys.make("site-lead", ["harrow-dock"])
    one = await summary(firm, administrator, site="east-yard")
    own = await summary(firm, lead)
    other = await firm.get("/v1/compliance?site=east-yard", headers=lead)

    assert [site["site"] for site in one["sites"]] == ["east-yard"]
    assert [site["site"] for site in own["sites"]] == ["harrow-dock"]
    assert other.status_code == 404


@pytest.mark.parametrize("address", ["/v1/compliance", "/v1/compliance/assets", "/v1/assets"])
async def test_a_site_that_nobody_defined_is_not_there(firm: httpx.AsyncClient, keys: Keys, address: str) -> None:
    """Asked for a site that there is not, every role is told so; of one without units it gets an empty answer."""
    manager = await keys.make("manager")
    unknown = await firm.get(address, params={"site": "nowhere"}, headers=manager)
    empty = await firm.get(address, params={"site": "east-yard"}, headers=manager)

    assert (unknown.status_code, unknown.json()["type"]) == (404, "/problems/not-found")
    assert empty.status_code == 200


async def test_a_site_is_not_there_before_it_was_known(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """As known before its definition was recorded, nobody could have named the site."""
    known = (await summary(firm, administrator))["known_at"]
    asked = {"site": "north-quay", "known_at": known}
    await post(firm, administrator, site("north-quay"))
    before = await firm.get("/v1/compliance", params=asked, headers=administrator)

    assert before.status_code == 404
    assert [one["site"] for one in (await summary(firm, administrator, site="north-quay"))["sites"]] == ["north-quay"]


async def test_another_firm_has_its_own_summary(firm: httpx.AsyncClient, keys: Keys) -> None:
    """A key of another firm sums up nothing of ours."""
    told = await summary(firm, await keys.make("manager", organisation=FOREIGN))

    assert (told["sites"], told["total"]["units"], told["total"]["rate"]) == ([], 0, None)


async def test_the_units_behind_a_number(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """The units of a standing, a rule or a site are listed; a rule that there is not is refused."""
    await post(firm, administrator, registered("FX-0143"), issued(), checked(), failed(), issued("FX-0143"))

    async def tags(**asked: str) -> list[str]:
        answered = await firm.get("/v1/compliance/assets", params=asked, headers=administrator)
        assert answered.status_code == 200, answered.text
        return [unit["tag"] for unit in answered.json()["assets"]]

    assert await tags(standing="do-not-use") == ["FX-0142"]
    assert await tags(rule="withdrawal") == ["FX-0142"]
    assert await tags(site="east-yard") == []
    refused = await firm.get("/v1/compliance/assets?rule=luck", headers=administrator)
    assert (refused.status_code, refused.json()["errors"][0]["parameter"]) == (400, "rule")


async def test_the_pages_behind_a_number_tell_of_one_moment(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """A page read after something has happened goes on with the moment and the knowledge of the first."""
    await post(firm, administrator, registered("FX-0143"), registered("FX-0144"))
    asked = {"limit": "1", "standing": "out-of-scope"}
    first = (await firm.get("/v1/compliance/assets", params=asked, headers=administrator)).json()
    await post(firm, administrator, issued("FX-0143"), checked("FX-0143"))
    second = await firm.get("/v1/compliance/assets", params=asked | {"after": first["next"]}, headers=administrator)

    assert [unit["tag"] for unit in first["assets"] + second.json()["assets"]] == ["FX-0142", "FX-0143"]
    assert [second.json()[name] for name in ("as_at", "known_at")] == [first["as_at"], first["known_at"]]
