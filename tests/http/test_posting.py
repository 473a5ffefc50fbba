"""Posting events."""

import json
from typing import Any
from uuid import UUID

import httpx
import pytest

from tests.http.conftest import Refusing
from tests.http.firm import Message, ago, checked, failed, issued, message, model, registered, site
from tests.http.keys import Keys

Headers = dict[str, str]


async def post(http: httpx.AsyncClient, said: Any, headers: Headers) -> httpx.Response:
    """Post an event, an array of them, or bytes as they are."""
    content = said if isinstance(said, bytes) else json.dumps(said).encode()
    return await http.post("/v1/events", content=content, headers=headers | {"content-type": "application/json"})


async def recorded(http: httpx.AsyncClient, headers: Headers) -> list[str]:
    """List the ids of the log."""
    return [event["id"] for event in (await http.get("/v1/events?limit=500", headers=headers)).json()["events"]]


async def test_an_event_is_recorded(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """One event is answered with its place in the log, the conflicts it has and the unit as it is now."""
    said = issued()
    answered = await post(firm, said, administrator)
    told = answered.json()

    assert answered.status_code == 201
    assert answered.headers["location"] == f"/v1/events/{said['id']}"
    assert list(told) == ["id", "seq", "recorded_at", "outcome", "conflicts", "asset"]
    assert (told["id"], told["seq"], told["outcome"]) == (said["id"], 5, "recorded")
    assert (told["asset"]["tag"], told["asset"]["phase"]) == ("FX-0142", "issued")
    assert (await firm.get(answered.headers["location"], headers=administrator)).json()["seq"] == 5


async def test_a_repeat_is_answered_with_the_first_result(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """The same event again, members in any order, is a 200 with the place it was given first; nothing is written."""
    said = issued()
    first = (await post(firm, said, administrator)).json()
    again = await post(firm, dict(reversed(said.items())), administrator)

    assert again.status_code == 200
    assert again.json()["outcome"] == "repeated"
    assert [again.json()[name] for name in ("id", "seq", "recorded_at", "conflicts")] == [
        first[name] for name in ("id", "seq", "recorded_at", "conflicts")
    ]
    assert len(await recorded(firm, administrator)) == 5


async def test_another_content_under_an_id_is_refused(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """The id of an event under other content is a 409 whose message is kept; the log stays as it is."""
    said = issued()
    await post(firm, said, administrator)
    clash = await post(firm, said | {"holder": {"person": "p-9"}}, administrator)

    assert (clash.status_code, clash.json()["type"]) == (409, "/problems/content-clash")
    assert UUID(clash.json()["rejected"]).version == 4
    assert len(await recorded(firm, administrator)) == 5


async def test_a_batch_has_a_result_for_each_event(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """An array is a 207 whose results stand in its order, each as it would have been answered alone."""
    first, second = issued(), checked()
    said = [first, {"kind": "issued"}, 7, second, first]
    answered = await post(firm, said, administrator)
    results = answered.json()["results"]

    assert answered.status_code == 207
    assert [result["status"] for result in results] == [201, 422, 422, 201, 200]
    assert [result["id"] for result in results] == [first["id"], None, None, second["id"], first["id"]]
    assert [result.get("seq") for result in results] == [5, None, None, 6, 5]
    assert results[1]["problem"]["type"] == "/problems/malformed"
    assert UUID(results[1]["rejected"]).version == 4


async def test_the_result_of_what_is_no_event_names_its_id(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """A batch's result has the id that a refused message gave, so that its sender finds it; null where it gave none."""
    wrong, nameless = issued(colour="red"), issued(id="7")
    answered = await firm.post("/v1/events", json=[wrong, nameless], headers=administrator)

    assert [(one["id"], one["status"]) for one in answered.json()["results"]] == [(wrong["id"], 422), (None, 422)]


async def test_an_empty_batch_has_no_results(http: httpx.AsyncClient, administrator: Headers) -> None:
    """An array of nothing is a 207 without results."""
    answered = await post(http, [], administrator)

    assert (answered.status_code, answered.json()) == (207, {"results": []})


@pytest.mark.parametrize(
    "body",
    [b"", b"{", b'{"kind": "issued",}', b"[1,", b"nonsense", b'{"by":"\xff"}', b"\xef\xbb\xbf{}", b"{} {}", b"[] []"],
)
async def test_what_is_no_json_is_a_400(refusing: Refusing, body: bytes) -> None:
    """A body that is no JSON text is a 400, and its bytes are kept as they came."""
    http, administrator = refusing
    answered = await post(http, body, administrator)

    assert (answered.status_code, answered.json()["type"]) == (400, "/problems/not-json")
    assert (await http.get(f"/v1/rejected/{answered.json()['rejected']}", headers=administrator)).status_code == 200


BAD: tuple[tuple[str, Message, str | None], ...] = (
    ("wrong type", {"airflow_lpm": "much"}, "#/airflow_lpm"),
    ("a number for a text", {"by": 7}, "#/by"),
    ("naive time", {"occurred_at": "2026-03-02T05:51:40"}, "#/occurred_at"),
    ("no time", {"occurred_at": None}, "#/occurred_at"),
    ("two times", {"occurred_on": "2026-03-02"}, "#/occurred_on"),
    ("leap second", {"occurred_at": "1990-12-31T23:59:60Z"}, "#/occurred_at"),
    ("a day that is none", {"occurred_at": "2026-02-30T05:51:40Z"}, "#/occurred_at"),
    ("the year 1", {"occurred_at": "0001-01-01T00:00:00Z"}, "#/occurred_at"),
    ("the year 9999", {"occurred_at": "9999-12-31T23:59:59Z"}, "#/occurred_at"),
    ("unknown field", {"colour": "red"}, "#/colour"),
    ("unknown kind", {"kind": "inspected-by-magic"}, "#/kind"),
    ("NUL in text", {"remark": "a\x00b"}, "#/remark"),
    ("lone surrogate", {"remark": "\ud800"}, None),
    ("control character", {"remark": "\x1b[2J"}, "#/remark"),
    ("NUL in a reference", {"asset": "FX\x00"}, "#/asset"),
    ("long remark", {"remark": "a" * 501}, "#/remark"),
    ("long reference", {"asset": "F" * 41}, "#/asset"),
    ("negative flow", {"airflow_lpm": -1}, "#/airflow_lpm"),
    ("impossible flow", {"airflow_lpm": 1e308}, "#/airflow_lpm"),
    ("percent over 100", {"battery_percent": 101}, "#/battery_percent"),
    ("huge counter", {"device_seq": 2**70, "device": "kiosk-3"}, "#/device_seq"),
    ("a list for an object", {"points": ["airflow"]}, "#/points"),
    ("a result that is none", {"points": {"airflow": "maybe"}}, "#/points/airflow"),
    ("many points", {"points": {f"p{number}": "pass" for number in range(101)}}, "#/points"),
    ("an id that is none", {"id": "first"}, "#/id"),
)


@pytest.mark.parametrize(("wrong", "pointer"), [bad[1:] for bad in BAD], ids=[bad[0] for bad in BAD])
async def test_what_is_no_event_is_a_422(refusing: Refusing, wrong: Message, pointer: str | None) -> None:
    """A message that is JSON but no event is a 422 that names the field; it is kept, and nothing of it is written."""
    firm, administrator = refusing
    answered = await post(firm, {k: v for k, v in (checked() | wrong).items() if v is not None}, administrator)

    if pointer is None:
        assert (answered.status_code, answered.json()["type"]) == (400, "/problems/not-json")
    else:
        assert (answered.status_code, answered.json()["type"]) == (422, "/problems/malformed")
        assert [error["pointer"] for error in answered.json()["errors"]] == [pointer]
    assert UUID(answered.json()["rejected"]).version == 4
    assert len(await recorded(firm, administrator)) == 4


@pytest.mark.parametrize("text", [b"NaN", b"Infinity", b"-Infinity", b"1e999", b"0x10", b"01"])
async def test_numbers_are_those_of_json(refusing: Refusing, text: bytes) -> None:
    """What JSON has no number for is never taken for one."""
    firm, administrator = refusing
    body = json.dumps(checked() | {"airflow_lpm": 0}).encode().replace(b'"airflow_lpm": 0', b'"airflow_lpm": ' + text)
    answered = await post(firm, body, administrator)

    assert answered.status_code in {400, 422}
    assert len(await recorded(firm, administrator)) == 4


@pytest.mark.parametrize(
    ("body", "status"),
    [
        (b"[" + b",".join([b"{}"] * 10_000) + b"]", 413),
        (b'{"kind":"checked","points":' + b"[" * 2_000_000 + b"]" * 2_000_000 + b"}", 400),
        (b'"' + b"a" * 5_000_000 + b'"', 413),
    ],
    ids=("10,000 events", "nested", "5 MB"),
)
async def test_what_is_over_a_limit_is_not_kept(
    http: httpx.AsyncClient, administrator: Headers, body: bytes, status: int
) -> None:
    """What is more than a request may carry is refused whole: nothing is written, and the body is not kept."""
    answered = await post(http, body, administrator)

    assert answered.status_code == status
    assert "rejected" not in answered.json()
    assert (await http.get("/v1/rejected", headers=administrator)).json()["rejected"] == []
    assert await recorded(http, administrator) == []


async def test_a_key_posts_for_its_sites(firm: httpx.AsyncClient, keys: Keys, administrator: Headers) -> None:
    """An event for another site is a 403 and kept; without a site it is for the key's only one."""
    harrow = await keys.make("site-app", ["harrow-dock"])
    elsewhere = await post(firm, issued(site="east-yard"), harrow)
    here = await post(firm, issued(), harrow)

    assert (elsewhere.status_code, elsewhere.json()["type"]) == (403, "/problems/site-not-allowed")
    assert UUID(elsewhere.json()["rejected"]).version == 4
    assert here.status_code == 201
    told = (await firm.get(here.headers["location"], headers=administrator)).json()
    assert told["site"] == "harrow-dock"


async def test_a_key_of_several_sites_says_which(firm: httpx.AsyncClient, keys: Keys) -> None:
    """With a key for several sites an event names its own, or is a 422."""
    answered = await post(firm, issued(), await keys.make("site-app", ["harrow-dock", "east-yard"]))

    assert answered.status_code == 422
    assert answered.json()["errors"][0]["pointer"] == "#/site"


@pytest.mark.parametrize(
    ("role", "said", "status"),
    [
        ("site-app", message("retired", asset="FX-0142", reason="worn-out"), 403),
        ("site-lead", message("retired", asset="FX-0142", reason="worn-out"), 201),
        ("site-lead", model(), 403),
        ("manager", model(), 403),
        ("integrator", issued(), 403),
        ("auditor", issued(), 403),
        ("worker-representative", issued(), 403),
        ("administrator", site("north-quay"), 201),
    ],
)
async def test_a_role_posts_its_kinds(
    firm: httpx.AsyncClient, keys: Keys, role: Any, said: Message, status: int
) -> None:
    """Who posts what is as ruled (R37); a kind that a role may not post is a 403."""
    assert (await post(firm, said, await keys.make(role))).status_code == status


async def test_the_future_is_refused(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """An event more than five minutes ahead is a 422 that names the moment; a little ahead is taken."""
    far = await post(firm, issued(occurred_at=ago(minutes=-6)), administrator)
    near = await post(firm, issued(occurred_at=ago(minutes=-4)), administrator)

    assert (far.status_code, far.json()["type"]) == (422, "/problems/in-the-future")
    assert far.json()["errors"][0]["pointer"] == "#/occurred_at"
    assert near.status_code == 201


async def test_an_event_waits_for_what_it_names(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """An event about a unit nobody has registered is a 422 that waits, and is recorded once the unit is."""
    early = issued("FX-0900")
    answered = await post(firm, early, administrator)
    assert (answered.status_code, answered.json()["type"]) == (422, "/problems/unknown-reference")
    assert (answered.json()["reference"], answered.json()["waits"]) == ("asset:FX-0900", True)

    late = await post(firm, registered("FX-0900"), administrator)
    assert late.status_code == 201
    assert early["id"] in await recorded(firm, administrator)


async def test_a_failure_is_bad_news_at_once(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """A failed check is answered with a unit that is not to be used, and why."""
    await post(firm, [issued(), checked()], administrator)
    told = (await post(firm, failed(), administrator)).json()

    assert (told["asset"]["do_not_use"], told["asset"]["standing"]) == (True, "do-not-use")
    assert "withdrawal" in told["asset"]["reasons"]
