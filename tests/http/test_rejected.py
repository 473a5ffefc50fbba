"""Rejected messages, and what is done about them."""

from typing import Any

import httpx
import pytest

from tests.http.doors import FOREIGN
from tests.http.firm import failed, issued, site
from tests.http.keys import Keys

Headers = dict[str, str]


async def rejected(http: httpx.AsyncClient, headers: Headers, said: Any) -> str:
    """Post a message that is refused, and give the id it is kept under."""
    answered = await http.post("/v1/events", json=said, headers=headers)
    assert answered.status_code >= 400, answered.text
    return str(answered.json()["rejected"])


async def listed(http: httpx.AsyncClient, headers: Headers, **asked: str) -> list[Any]:
    """List the messages."""
    answered = await http.get("/v1/rejected", params=asked, headers=headers)
    assert answered.status_code == 200, answered.text
    return list(answered.json()["rejected"])


async def test_a_refused_message_is_kept_with_its_problem(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """A message that is refused can be read as it came, with what its sender was told."""
    said = issued(colour="red")
    kept = await rejected(firm, administrator, said)
    told = (await firm.get(f"/v1/rejected/{kept}", headers=administrator)).json()

    assert [one["rejected"] for one in await listed(firm, administrator)] == [kept]
    assert (told["state"], told["kind"], told["asset"], told["count"]) == ("open", "issued", "FX-0142", 1)
    assert told["problem"]["status"] == 422
    known = "id, occurred_at, occurred_on, by, site, device, device_seq, sent_at, remark, asset, holder, task"
    assert told["problem"]["errors"] == [
        {"detail": f"no such field here; known are {known}", "pointer": "#/colour"},
    ]
    assert httpx.Response(200, content=told["body"]).json() == said


async def test_medical_data_is_not_kept(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """Of a message with a field for a diagnosis only the field names are kept: so it is told, and not tried again."""
    said = issued(diagnosis="asthma")
    answered = await firm.post("/v1/events", json=said, headers=administrator)
    kept = answered.json()["rejected"]
    told = await firm.get(f"/v1/rejected/{kept}", headers=administrator)
    tried = await firm.post(f"/v1/rejected/{kept}/retry", headers=administrator)

    assert (answered.status_code, answered.json()["kept"]) == (422, "fields")
    assert (told.json()["kept"], told.json()["body"], set(told.json()["fields"])) == ("fields", None, {*said, "person"})
    assert "asthma" not in told.text
    assert (tried.status_code, tried.json()["type"], tried.json()["kept"]) == (409, "/problems/not-kept", "fields")


async def test_the_same_refused_message_is_kept_once(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """Sent again, a refused message is counted, not kept twice."""
    said = issued(colour="red")
    first, second = await rejected(firm, administrator, said), await rejected(firm, administrator, said)

    assert first == second
    assert [one["count"] for one in await listed(firm, administrator)] == [2]


async def test_a_message_is_tried_again(firm: httpx.AsyncClient, keys: Keys, administrator: Headers) -> None:
    """What an authorised key tries again is recorded as it came, and is settled then."""
    said = issued(site="east-yard")
    kept = await rejected(firm, await keys.make("site-app", ["harrow-dock"]), said)
    tried = await firm.post(f"/v1/rejected/{kept}/retry", headers=administrator)
    again = await firm.post(f"/v1/rejected/{kept}/retry", headers=administrator)

    assert (tried.status_code, tried.json()["id"], tried.json()["outcome"]) == (201, said["id"], "recorded")
    assert (again.status_code, again.json()["type"]) == (409, "/problems/already-settled")
    assert [(one["state"], one["accepted_seq"]) for one in await listed(firm, administrator)] == [
        ("accepted", tried.json()["seq"])
    ]


async def test_a_correction_is_not_taken_for_a_retry(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """A body sent with a retry is refused, and its sender told where a correction goes; the message stays open."""
    kept = await rejected(firm, administrator, issued(colour="red"))
    tried = await firm.post(f"/v1/rejected/{kept}/retry", json=issued(), headers=administrator)

    assert (tried.status_code, tried.json()["type"]) == (400, "/problems/bad-parameter")
    assert tried.json()["errors"] == [
        {
            "detail": "A message is tried again as it came: send no body. A correction is posted to /v1/events, with "
            "the same id, and this message is then dismissed.",
            "parameter": "body",
        }
    ]
    assert [one["state"] for one in await listed(firm, administrator)] == ["open"]


async def test_a_message_that_is_still_wrong_stays(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """Tried again without a change, a wrong message is answered with its problem and stays open."""
    kept = await rejected(firm, administrator, issued(colour="red"))
    tried = await firm.post(f"/v1/rejected/{kept}/retry", headers=administrator)

    assert (tried.status_code, tried.json()["rejected"]) == (422, kept)
    assert [one["state"] for one in await listed(firm, administrator)] == ["open"]


async def test_a_message_is_dismissed_with_a_reason(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """A dismissal needs a reason, settles the message for good and leaves it readable."""
    kept = await rejected(firm, administrator, issued(colour="red"))
    silent = await firm.post(f"/v1/rejected/{kept}/dismissal", json={}, headers=administrator)
    done = await firm.post(f"/v1/rejected/{kept}/dismissal", json={"reason": "sent twice"}, headers=administrator)
    again = await firm.post(f"/v1/rejected/{kept}/dismissal", json={"reason": "sent twice"}, headers=administrator)

    assert (silent.status_code, silent.json()["errors"][0]["pointer"]) == (422, "#/reason")
    assert (done.status_code, again.status_code) == (200, 409)
    assert [(one["state"], one["reason"]) for one in await listed(firm, administrator)] == [("dismissed", "sent twice")]


async def test_messages_are_listed_by_their_state(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """The list can be narrowed to a state, and is read newest first, page by page."""
    kept = [await rejected(firm, administrator, issued(colour=colour)) for colour in ("red", "green", "blue")]
    await firm.post(f"/v1/rejected/{kept[1]}/dismissal", json={"reason": "a test"}, headers=administrator)
    first = (await firm.get("/v1/rejected?limit=2", headers=administrator)).json()
    rest = (await firm.get("/v1/rejected", params={"after": first["next"]}, headers=administrator)).json()

    assert [one["rejected"] for one in await listed(firm, administrator, status="open")] == [kept[2], kept[0]]
    assert [one["rejected"] for one in await listed(firm, administrator, status="dismissed")] == [kept[1]]
    assert [one["rejected"] for one in first["rejected"] + rest["rejected"]] == [kept[2], kept[1], kept[0]]


async def test_a_message_is_seen_by_the_leads_of_its_site(
    firm: httpx.AsyncClient, keys: Keys, administrator: Headers
) -> None:
    """A key of a site sees the messages that name it; other sites and firms see none."""
    kept = await rejected(firm, administrator, issued(site="harrow-dock", colour="red"))

    async def seen(headers: Headers) -> tuple[int, int]:
        one = await firm.get(f"/v1/rejected/{kept}", headers=headers)
        return one.status_code, len(await listed(firm, headers))

    assert await seen(await keys.make("site-lead", ["harrow-dock"])) == (200, 1)
    assert await seen(await keys.make("site-lead", ["east-yard"])) == (404, 0)
    assert await seen(await keys.make("manager", organisation=FOREIGN)) == (404, 0)


@pytest.mark.parametrize("act", ["retry", "dismissal"])
async def test_a_message_is_settled_by_whom_it_concerns(
    firm: httpx.AsyncClient, keys: Keys, administrator: Headers, act: str
) -> None:
    """A key of another site or firm settles nothing, and finds nothing there."""
    kept = await rejected(firm, administrator, issued(site="harrow-dock", colour="red"))
    for headers in (
        await keys.make("site-lead", ["east-yard"]),
        await keys.make("administrator", organisation=FOREIGN),
    ):
        said = {"reason": "not ours"} if act == "dismissal" else None
        answered = await firm.post(f"/v1/rejected/{kept}/{act}", json=said, headers=headers)
        assert answered.status_code == 404


async def test_a_report_of_a_failure_is_not_resolved_by_its_sender(
    firm: httpx.AsyncClient, keys: Keys, administrator: Headers
) -> None:
    """A refused report of a failure makes the unit one not to be used, until another with authority resolves it."""
    await firm.post("/v1/events", json=issued(), headers=administrator)
    lead = await keys.make("site-lead", ["harrow-dock"])
    kept = await rejected(firm, lead, failed(site="harrow-dock", colour="red"))

    async def unit() -> Any:
        return (await firm.get("/v1/assets/FX-0142", headers=administrator)).json()

    assert ((await unit())["do_not_use"], "unresolved-report" in (await unit())["reasons"]) == (True, True)
    own = await firm.post(f"/v1/rejected/{kept}/dismissal", json={"reason": "a mistake"}, headers=lead)
    assert (own.status_code, own.json()["type"]) == (403, "/problems/forbidden")
    other = await firm.post(f"/v1/rejected/{kept}/dismissal", json={"reason": "looked at"}, headers=administrator)
    assert other.status_code == 200
    assert "unresolved-report" not in (await unit())["reasons"]


async def test_what_waits_is_settled_by_what_arrives(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """A message that waits for a site says so, and is accepted by itself when the site is defined."""
    await rejected(firm, administrator, issued(site="north-quay"))
    waiting = await listed(firm, administrator)
    await firm.post("/v1/events", json=site("north-quay"), headers=administrator)

    assert [one["waiting_for"] for one in waiting] == [["site:north-quay"]]
    assert [one["state"] for one in await listed(firm, administrator)] == ["accepted"]
