"""A message that comes again is the same message, whatever key brings it; a unit is the same under an earlier tag."""

from typing import Any

import httpx

from tests.http.firm import ago, checked, failed, message
from tests.http.keys import Keys


async def post(http: httpx.AsyncClient, headers: dict[str, str], event: dict[str, Any]) -> tuple[int, dict[str, Any]]:
    """Post one event; gives status and answer."""
    answer = await http.post("/v1/events", json=event, headers=headers)
    return answer.status_code, answer.json()


async def test_a_message_without_site_is_the_same_with_any_key(firm: httpx.AsyncClient, keys: Keys) -> None:
    """Posted with a key of one site, it is repeated with keys of two sites and of all, and reports nothing more."""
    event = failed()
    reaches = (["harrow-dock"], ["harrow-dock", "east-yard"], None)
    one, two, every = [await keys.make("site-app", sites) for sites in reaches]
    status, first = await post(firm, one, event)
    assert status == 201
    for headers in (one, two, every):
        status, again = await post(firm, headers, event)
        assert (status, again["outcome"], again["seq"]) == (200, "repeated", first["seq"])
        assert "unresolved-report" not in again["asset"]["reasons"]


async def test_another_site_is_other_content(firm: httpx.AsyncClient, keys: Keys) -> None:
    """A message that says another site than the one it was recorded for is not the same."""
    event, every = failed(), await keys.make("site-app")
    assert (await post(firm, await keys.make("site-app", ["harrow-dock"]), event))[0] == 201
    status, problem = await post(firm, every, event | {"site": "east-yard"})
    assert (status, problem["type"]) == (409, "/problems/content-clash")


async def test_a_role_that_may_not_post_it_learns_nothing(firm: httpx.AsyncClient, keys: Keys) -> None:
    """An integrator that sends a recorded check again is told that its role posts none."""
    event = checked()
    assert (await post(firm, await keys.make("site-app"), event))[0] == 201
    assert (await post(firm, await keys.make("integrator"), event))[0] == 403


async def test_a_receipt_shows_the_unit_of_an_earlier_tag(firm: httpx.AsyncClient, keys: Keys) -> None:
    """Under the tag it had before, alone, again and in a batch: the unit by its tag of now, and may it be used."""
    manager, app = await keys.make("manager"), await keys.make("site-app")
    assert (await post(firm, manager, message("retagged", asset="FX-0142", new_tag="FX-9", occurred_at=ago(hours=20))))[
        0
    ] == 201
    event = failed("FX-0142")
    _, first = await post(firm, app, event)
    _, again = await post(firm, app, event)
    batch = (await firm.post("/v1/events", json=[event, checked("FX-0142")], headers=app)).json()["results"]
    told = [answer["asset"] for answer in (first, again, *batch)]
    assert [(asset["tag"], asset["do_not_use"]) for asset in told] == [("FX-9", True)] * 4
