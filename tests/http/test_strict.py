"""`Prefer: handling=strict` (RFC 7240): what contradicts the history is a 409 and leaves nothing."""

from typing import Any

import httpx
import msgspec
import pytest

from tests.http.firm import Message, ago, checked, failed, issued, message, registered
from tests.http.keys import Keys

Headers = dict[str, str]
STRICT = {"prefer": "handling=strict"}


async def strictly(firm: httpx.AsyncClient, headers: Headers, *said: Message) -> list[dict[str, Any]]:
    """Post an array with strict handling, and give its results."""
    answered = await firm.post("/v1/events", json=said, headers=headers | STRICT)
    assert (answered.status_code, answered.headers["preference-applied"]) == (207, "handling=strict")
    found: list[dict[str, Any]] = answered.json()["results"]
    return found


async def kinds(firm: httpx.AsyncClient, headers: Headers) -> list[str]:
    """List the kinds that were recorded after the firm's beginnings."""
    return [event["kind"] for event in (await firm.get("/v1/events", headers=headers)).json()["events"]][4:]


async def test_what_contradicts_leaves_nothing(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """An issue of a unit that is not ready is a 409 that says why; neither log nor rejected messages know of it."""
    await firm.post("/v1/events", json=failed(occurred_at=ago(hours=5)), headers=administrator)
    refused = await firm.post("/v1/events", json=issued(), headers=administrator | STRICT)
    kept = await firm.get("/v1/rejected", headers=administrator)

    problem = refused.json()
    assert (refused.status_code, problem["type"]) == (409, "/problems/contradicts-history")
    assert problem["conflicts"] == ["issued-while-quarantined", "not-ready-to-issue"]
    assert problem["reasons"] == ["withdrawal"]
    assert refused.headers["preference-applied"] == "handling=strict"
    assert "rejected" not in problem
    assert kept.json()["rejected"] == []
    assert await kinds(firm, administrator) == ["failed-check"]


async def test_what_contradicts_nothing_is_recorded(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """A strict event without conflict is recorded as any other, and its repeat is told so."""
    said = checked()
    first = await firm.post("/v1/events", json=said, headers=administrator | STRICT)
    again = await firm.post("/v1/events", json=said, headers=administrator | STRICT)

    assert (first.status_code, first.json()["conflicts"]) == (201, [])
    assert (again.status_code, again.json()["seq"]) == (200, first.json()["seq"])
    assert first.headers["preference-applied"] == again.headers["preference-applied"] == "handling=strict"


async def test_without_the_wish_it_is_recorded_with_its_conflicts(
    firm: httpx.AsyncClient, administrator: Headers
) -> None:
    """The same event sent again without strict handling is a fact: recorded, and its conflicts told."""
    said = message("returned", asset="FX-0142")
    refused = await firm.post("/v1/events", json=said, headers=administrator | STRICT)
    recorded = await firm.post("/v1/events", json=said, headers=administrator)

    assert refused.json()["conflicts"] == ["returned-without-holder"]
    assert (recorded.status_code, recorded.json()["conflicts"]) == (201, [{"code": "returned-without-holder"}])
    assert "preference-applied" not in recorded.headers


@pytest.mark.parametrize(
    "said",
    [
        failed(),
        message("quarantined", asset="FX-0142", reason="suspect"),
        checked(airflow_lpm=120.0),
    ],
    ids=["failed-check", "quarantined", "by its readings"],
)
async def test_bad_news_is_never_turned_away(firm: httpx.AsyncClient, administrator: Headers, said: Message) -> None:
    """What is adverse by its kind, its content or its readings is recorded, whatever it contradicts."""
    await firm.post(
        "/v1/events",
        json=message("retired", asset="FX-0142", reason="lost", occurred_at=ago(hours=4)),
        headers=administrator,
    )
    recorded = await firm.post("/v1/events", json=said, headers=administrator | STRICT)

    assert recorded.status_code == 201
    assert recorded.json()["conflicts"] != []


async def test_each_of_a_batch_is_judged_by_itself(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """In a batch one that contradicts leaves its neighbours alone, and they are judged as if it had not come."""
    results = await strictly(
        firm,
        administrator,
        message("returned", asset="FX-0142", occurred_at=ago(hours=6)),
        issued(occurred_at=ago(hours=5)),
        message("returned", asset="FX-0142", occurred_at=ago(hours=4)),
        message("returned", asset="FX-0142", occurred_at=ago(hours=3)),
        registered("FX-0143"),
        message("returned", asset="FX-0143", occurred_at=ago(hours=2)),
    )

    assert [result["status"] for result in results] == [409, 201, 201, 409, 201, 409]
    assert [result["seq"] for result in results if result["status"] == 201] == [5, 6, 7]
    assert await kinds(firm, administrator) == ["issued", "returned", "registered"]


async def test_it_is_judged_at_its_own_time(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """What comes late is held against the history as it was then, not as it is now."""
    for said in (issued(occurred_at=ago(hours=6)), message("returned", asset="FX-0142", occurred_at=ago(hours=2))):
        await firm.post("/v1/events", json=said, headers=administrator)
    within, after = await strictly(
        firm,
        administrator,
        message("returned", asset="FX-0142", occurred_at=ago(hours=4)),
        message("returned", asset="FX-0142", occurred_at=ago(hours=1)),
    )

    assert (within["status"], after["status"]) == (201, 409)


async def test_what_is_missing_is_not_waited_for(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """A strict event about a unit not known is kept, but does not come true later, when its sender is not there."""
    results = await strictly(firm, administrator, issued("FX-0200"), failed("FX-0200"))
    await firm.post("/v1/events", json=registered("FX-0200"), headers=administrator)

    assert [result["problem"]["waits"] for result in results] == [False, True]
    assert await kinds(firm, administrator) == ["registered", "failed-check"]


async def test_nobody_grants_themselves_a_competence_strictly(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """An event about a person is guarded, too."""
    said = message("trained", person="p-3071", competences=["release"])
    refused = await firm.post("/v1/events", json=said, headers=administrator | STRICT)

    assert (refused.status_code, refused.json()["conflicts"]) == (409, ["self-granted-competence"])
    assert await kinds(firm, administrator) == []


async def test_a_key_of_another_site_learns_nothing_of_a_unit(
    firm: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """A key of another site is told that something speaks against it, and not what the unit's own has on record."""
    await firm.post("/v1/events", json=failed(occurred_at=ago(hours=5)), headers=administrator)
    elsewhere = await keys.make("site-lead", ["east-yard"])
    refused = await firm.post("/v1/events", json=issued(), headers=elsewhere | STRICT)

    assert (refused.status_code, refused.json()["conflicts"]) == (409, ["not-received"])
    assert refused.json()["reasons"] == []
    assert "withdrawal" not in refused.text


async def test_what_may_not_be_told_turns_away_too(firm: httpx.AsyncClient, administrator: Headers, keys: Keys) -> None:
    """Where nothing of what speaks against an event may be told to its sender, it is turned away all the same."""
    lost = message("retired", asset="FX-0142", reason="lost", occurred_at=ago(hours=4))
    await firm.post("/v1/events", json=lost, headers=administrator)
    elsewhere = await keys.make("site-app", ["east-yard"])
    said = message("part-identified", asset="FX-0142", position="battery", part={"item": "bat-64", "condition": "new"})
    worn = message("received", asset="FX-0142", site="east-yard")
    refused = [await firm.post("/v1/events", json=one, headers=elsewhere | STRICT) for one in (said, worn)]

    assert [answered.status_code for answered in refused] == [409, 409]
    assert [answered.json()["conflicts"] for answered in refused] == [["not-received"], []]
    assert await kinds(firm, administrator) == ["retired"]


async def test_lines_are_handled_strictly(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """A stream of lines is guarded line by line."""
    said = message("returned", asset="FX-0142")
    lines = msgspec.json.encode(said) + b"\n"
    answered = await firm.post(
        "/v1/events", content=lines, headers=administrator | STRICT | {"content-type": "application/x-ndjson"}
    )

    assert answered.headers["preference-applied"] == "handling=strict"
    assert '"status":409' in answered.text
    assert await kinds(firm, administrator) == []
