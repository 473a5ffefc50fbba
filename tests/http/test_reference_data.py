"""Reference data: read, defined and changed."""

import asyncio

import httpx
import pytest

from tests.http.conftest import Refusing
from tests.http.firm import Message, message, model, site
from tests.http.keys import Keys

Headers = dict[str, str]


def body(said: Message) -> Message:
    """Give a definition as it is put: without what the address says."""
    return {name: value for name, value in said.items() if name not in {"kind", "site"}}


async def test_a_definition_is_put_and_read(http: httpx.AsyncClient, administrator: Headers) -> None:
    """A site that is put is there at its address, under a version that is its ETag, and an event says so."""
    put = await http.put("/v1/sites/harrow-dock", json=body(site("harrow-dock")), headers=administrator)
    read = await http.get("/v1/sites/harrow-dock", headers=administrator)
    events = (await http.get("/v1/events", headers=administrator)).json()["events"]

    assert (put.status_code, read.status_code) == (201, 200)
    assert put.headers["etag"] == read.headers["etag"]
    assert (read.json()["site"], read.json()["profile"]) == ("harrow-dock", "uk")
    assert [event["kind"] for event in events] == ["site-defined"]
    assert read.headers["etag"].strip('"').isdigit()


SORTS: dict[str, tuple[str, Message]] = {
    "sites": ("harrow-dock", body(site("harrow-dock"))),
    "models": ("northwind-2", body(model())),
    "items": ("pf-170", {"by": "p-1", "name": "Particle filter", "unit": "each"}),
    "tasks": (
        "hull-welding",
        {"by": "p-1", "name": "Hull welding", "substances": [], "oxygen": "proven", "space": "open"},
    ),
    "policies": ("pre-use-check", {"by": "p-1", "scope": {"organisation": True}, "values": {"cover": "PT8H"}}),
    "instruments": (
        "flow-meter-1",
        {
            "by": "p-1",
            "name": "Flow meter",
            "measures": ["airflow"],
            "calibrated_on": "2026-01-05",
            "calibration_due": "2027-01-04",
        },
    ),
}


@pytest.mark.parametrize("word", SORTS)
async def test_each_sort_is_put_read_and_listed(http: httpx.AsyncClient, administrator: Headers, word: str) -> None:
    """Sites, models, items, tasks, policies and instruments are each put, read and listed at their own address."""
    ref, said = SORTS[word]
    put = await http.put(f"/v1/{word}/{ref}", json=said, headers=administrator)
    read = await http.get(f"/v1/{word}/{ref}", headers=administrator)
    listed = await http.get(f"/v1/{word}", headers=administrator)

    assert (put.status_code, read.status_code) == (201, 200), put.text
    assert {name: read.json()[name] for name in said if name not in {"id", "occurred_at"}} == {
        name: value for name, value in said.items() if name not in {"id", "occurred_at"}
    }
    assert [one["seq"] for one in listed.json()[word]] == [read.json()["seq"]]


async def test_a_change_names_the_version_it_starts_from(http: httpx.AsyncClient, administrator: Headers) -> None:
    """A change without a version is a 428, from another version than the newest a 412, else it is recorded."""
    await http.put("/v1/sites/harrow-dock", json=body(site("harrow-dock")), headers=administrator)
    etag = (await http.get("/v1/sites/harrow-dock", headers=administrator)).headers["etag"]
    renamed = body(site("harrow-dock", name="Harrow Dock East"))

    async def put(**conditions: str) -> httpx.Response:
        return await http.put("/v1/sites/harrow-dock", json=renamed, headers=administrator | conditions)

    silent, stale = await put(), await put(**{"if-match": '"999"'})
    weak, taken = await put(**{"if-match": f"W/{etag}"}), await put(**{"if-none-match": "*"})
    assert [silent.status_code, stale.status_code, weak.status_code, taken.status_code] == [428, 412, 412, 412]
    assert silent.headers["etag"] == stale.headers["etag"] == etag
    assert (await http.get("/v1/sites/harrow-dock", headers=administrator)).headers["etag"] == etag

    new = await put(**{"if-match": etag})
    after = await http.get("/v1/sites/harrow-dock", headers=administrator)
    assert (new.status_code, new.json()["outcome"]) == (200, "recorded")
    assert after.json()["name"] == "Harrow Dock East"
    assert after.headers["etag"] != etag


async def test_a_version_that_is_known_is_not_sent_again(http: httpx.AsyncClient, administrator: Headers) -> None:
    """A read that names the newest version is a 304 without a body, and with another version a 200."""
    await http.put("/v1/sites/harrow-dock", json=body(site("harrow-dock")), headers=administrator)
    etag = (await http.get("/v1/sites/harrow-dock", headers=administrator)).headers["etag"]
    known = await http.get("/v1/sites/harrow-dock", headers=administrator | {"if-none-match": f"W/{etag}"})
    other = await http.get("/v1/sites/harrow-dock", headers=administrator | {"if-none-match": '"999"'})

    assert (known.status_code, known.content, known.headers["etag"]) == (304, b"", etag)
    assert other.status_code == 200


@pytest.mark.parametrize("condition", ['"1"', "*", '"1", "2"'])
async def test_what_is_not_there_cannot_be_changed(
    http: httpx.AsyncClient, administrator: Headers, condition: str
) -> None:
    """A change of what nobody defined fails its condition, whichever version it names, and is told how to begin."""
    given = administrator | {"if-match": condition}
    answered = await http.put("/v1/sites/nowhere", json=body(site("nowhere")), headers=given)

    assert (answered.status_code, answered.json()["type"]) == (412, "/problems/version-mismatch")
    assert answered.json()["detail"] == (
        "There is no such object yet: leave 'If-Match' out, and send 'If-None-Match: *' to create it."
    )
    assert "etag" not in answered.headers
    assert (await http.get("/v1/sites/nowhere", headers=administrator)).status_code == 404


async def test_any_version_may_be_changed_by_who_says_so(http: httpx.AsyncClient, administrator: Headers) -> None:
    """`If-Match: *` holds where there is a version, `If-None-Match: *` where there is none."""

    async def put(name: str, **conditions: str) -> int:
        said = body(site("harrow-dock", name=name))
        return (await http.put("/v1/sites/harrow-dock", json=said, headers=administrator | conditions)).status_code

    new, any_one = {"if-none-match": "*"}, {"if-match": "*"}
    assert [await put("One", **new), await put("Two", **any_one), await put("Three", **new)] == [201, 200, 412]
    assert (await http.get("/v1/sites/harrow-dock", headers=administrator)).json()["name"] == "Two"


async def test_what_is_put_again_is_known_by_its_id_or_its_condition(
    http: httpx.AsyncClient, administrator: Headers
) -> None:
    """The same `PUT` again: with its `id` a repeat, 200 and not recorded; without one its condition fails, 412.

    RFC 9110 section 9.3.4: 201 where there was nothing before, 200 where something was changed, no other address told.
    """
    named = site("harrow-dock") | {"kind": "site-defined"}
    nameless = {name: value for name, value in body(site("harrow-dock", name="Two")).items() if name != "id"}

    async def put(said: Message, **conditions: str) -> httpx.Response:
        return await http.put("/v1/sites/harrow-dock", json=said, headers=administrator | conditions)

    made, again = await put(named), await put(named)
    changed = await put(nameless, **{"if-match": made.headers["etag"]})
    late = await put(nameless, **{"if-match": made.headers["etag"]})
    assert [one.status_code for one in (made, again, changed, late)] == [201, 200, 200, 412]
    assert [one.json()["outcome"] for one in (made, again, changed)] == ["recorded", "repeated", "recorded"]
    assert [one.json()["seq"] for one in (made, again)] == [1, 1]
    assert not any("location" in one.headers for one in (made, again, changed))


@pytest.mark.parametrize(
    ("said", "status"),
    [
        ({"if-none-match": '"999"'}, 428),
        ({"if-none-match": "{etag}"}, 412),
        ({"if-none-match": "W/{etag}"}, 412),
        ({"if-match": "{etag}", "if-none-match": "*"}, 412),
        ({"if-match": "{etag}", "if-none-match": 'W/"998", {etag}'}, 412),
        ({"if-match": "{etag}", "if-none-match": '"999"'}, 200),
        ({"if-match": '"999"', "if-none-match": '"999"'}, 412),
        ({"if-match": "*", "if-none-match": '"999"'}, 200),
    ],
)
async def test_a_change_says_what_must_not_be_there(
    firm: httpx.AsyncClient, administrator: Headers, said: Headers, status: int
) -> None:
    """`If-None-Match` with tags fails a change where one matches weakly, beside `If-Match` (RFC 9110, 13.1.2, 13.2.2).

    By itself it does not name the version that a change starts from.
    """
    etag = (await firm.get("/v1/sites/harrow-dock", headers=administrator)).headers["etag"]
    told = {name: text.format(etag=etag) for name, text in said.items()}
    answered = await firm.put(
        "/v1/sites/harrow-dock", json=body(site("harrow-dock", name="New")), headers=administrator | told
    )

    assert answered.status_code == status
    assert (answered.headers["etag"] == etag) is (status != 200)


@pytest.mark.parametrize("condition", ['"999"', 'W/"7"'])
async def test_what_is_not_there_is_no_version(http: httpx.AsyncClient, administrator: Headers, condition: str) -> None:
    """Where there is nothing yet, no tag of `If-None-Match` matches it: the definition is made."""
    told = administrator | {"if-none-match": condition}
    answered = await http.put("/v1/sites/harrow-dock", json=body(site("harrow-dock")), headers=told)

    assert answered.status_code == 201


@pytest.mark.parametrize(
    ("said", "status"),
    [
        ({"if-match": "{etag}"}, 200),
        ({"if-match": '"999", {etag}'}, 200),
        ({"if-match": "*"}, 200),
        ({"if-match": '"999"'}, 412),
        ({"if-match": "W/{etag}"}, 412),
        ({"if-match": "{etag}", "if-none-match": "{etag}"}, 304),
        ({"if-match": '"999"', "if-none-match": "{etag}"}, 412),
        ({"if-match": "999"}, 400),
    ],
)
@pytest.mark.parametrize("method", ["GET", "HEAD"])
async def test_a_read_goes_on_with_the_version_it_had(
    firm: httpx.AsyncClient, administrator: Headers, method: str, said: Headers, status: int
) -> None:
    """A read whose `If-Match` does not match strongly is 412, before `If-None-Match` is asked (RFC 9110, 13.2.2)."""
    etag = (await firm.get("/v1/sites/harrow-dock", headers=administrator)).headers["etag"]
    told = {name: text.format(etag=etag) for name, text in said.items()}
    answered = await firm.request(method, "/v1/sites/harrow-dock", headers=administrator | told)

    assert (answered.status_code, answered.headers.get("etag")) == (status, None if status == 400 else etag)


@pytest.mark.parametrize(
    ("condition", "told"),
    [
        ("W/{etag}", "A weak tag (W/) never serves 'If-Match': send a strong one, or leave 'If-Match' out of a read."),
        (
            'W/{etag}, "999"',
            "The object is not at the version that the condition names: read it again, and send its new ETag.",
        ),
    ],
)
async def test_a_weak_tag_is_told_that_it_never_serves(
    firm: httpx.AsyncClient, administrator: Headers, condition: str, told: str
) -> None:
    """A read by weak tags alone is not told to read again, which would help nobody."""
    etag = (await firm.get("/v1/sites/harrow-dock", headers=administrator)).headers["etag"]
    given = administrator | {"if-match": condition.format(etag=etag)}
    answered = await firm.get("/v1/sites/harrow-dock", headers=given)
    assert (answered.status_code, answered.json()["detail"]) == (412, told)


async def test_a_condition_is_of_what_is_there(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """What is not there is a 404, whatever condition the read has (RFC 9110 section 13.2.1)."""
    for condition in ("*", '"7"'):
        answered = await firm.get("/v1/sites/nowhere", headers=administrator | {"if-match": condition})
        assert answered.status_code == 404


async def test_a_version_taken_back_is_no_version(http: httpx.AsyncClient, administrator: Headers, keys: Keys) -> None:
    """Once the newest version is voided, a change starts from the one before, as it is read."""
    first = await http.put("/v1/sites/harrow-dock", json=body(site("harrow-dock")), headers=administrator)
    second = body(site("harrow-dock", name="A slip"))
    slip = await http.put("/v1/sites/harrow-dock", json=second, headers=administrator | {"if-match": "*"})
    voiding = message("voided", event=slip.json()["id"], reason="a slip")
    assert (await http.post("/v1/events", json=voiding, headers=await keys.make("administrator"))).status_code == 201
    etag = (await http.get("/v1/sites/harrow-dock", headers=administrator)).headers["etag"]
    third = body(site("harrow-dock", name="Harrow"))
    again = await http.put("/v1/sites/harrow-dock", json=third, headers=administrator | {"if-match": etag})

    assert etag == first.headers["etag"]
    assert again.status_code == 200, again.text


async def test_of_two_changes_of_one_version_one_is_recorded(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """Two changes at once that start from the same version: one is recorded, the other is told that it came late."""
    etag = (await firm.get("/v1/sites/harrow-dock", headers=administrator)).headers["etag"]

    async def put(name: str) -> httpx.Response:
        said = body(site("harrow-dock", name=name))
        return await firm.put("/v1/sites/harrow-dock", json=said, headers=administrator | {"if-match": etag})

    answers = await asyncio.gather(*(put(f"Name {nth}") for nth in range(4)))
    assert sorted(answered.status_code for answered in answers) == [200, 412, 412, 412]
    winner = next(nth for nth, answered in enumerate(answers) if answered.status_code == 200)
    read = await firm.get("/v1/sites/harrow-dock", headers=administrator)
    assert (read.json()["name"], read.headers["etag"]) == (f"Name {winner}", answers[winner].headers["etag"])


def cover(hours: int, **scope: str) -> Message:
    """Set for how long a check covers."""
    narrowed = {"scope": {"organisation": True} | scope} if scope else {}
    return {"by": "p-1", "reason": "agreed", "values": {"cover": f"PT{hours}H"}} | narrowed


async def test_a_policy_has_a_version_for_each_scope(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """What is set for a site is read and changed at its own address, beside what is set for the whole firm."""
    word, dock = "/v1/policies/pre-use-check", {"site": "harrow-dock"}
    for_all = await firm.put(word, json=cover(8), headers=administrator)
    for_dock = await firm.put(word, params=dock, json=cover(6), headers=administrator)
    both = {"site": "harrow-dock", "model": "northwind-2"}
    assert (for_all.status_code, for_dock.status_code) == (201, 201)

    read = [await firm.get(word, params=scope, headers=administrator) for scope in ({}, dock, both)]
    assert [one.status_code for one in read] == [200, 200, 404]
    assert [one.json()["values"]["cover"] for one in read[:2]] == ["PT8H", "PT6H"]
    assert [one.headers["etag"] for one in read[:2]] == [for_all.headers["etag"], for_dock.headers["etag"]]

    stale = await firm.put(word, json=cover(7), headers=administrator | {"if-match": for_dock.headers["etag"]})
    right = await firm.put(word, json=cover(7), headers=administrator | {"if-match": for_all.headers["etag"]})
    assert (stale.status_code, right.status_code) == (412, 200)
    assert (await firm.get(word, params=dock, headers=administrator)).headers["etag"] == for_dock.headers["etag"]

    listed = (await firm.get("/v1/policies", params={"limit": 1}, headers=administrator)).json()
    rest = (await firm.get("/v1/policies", params={"after": listed["next"]}, headers=administrator)).json()
    scopes = [one["scope"] for one in listed["policies"] + rest["policies"]]
    assert (scopes, rest["next"]) == ([{"organisation": True}, {"organisation": True, "site": "harrow-dock"}], None)


async def test_the_address_says_the_scope_of_a_policy(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """A body may leave the scope out or say the same as its address; any other is refused at that field."""
    word, dock = "/v1/policies/pre-use-check", {"site": "harrow-dock"}
    other = await firm.put(word, json=cover(8, site="harrow-dock"), headers=administrator)
    same = await firm.put(word, params=dock, json=cover(8, site="harrow-dock"), headers=administrator)
    unknown = await firm.get("/v1/sites/harrow-dock", params=dock, headers=administrator)

    assert (other.status_code, other.json()["errors"][0]["pointer"]) == (422, "#/scope")
    assert 'The address says {"organisation":true}' in other.json()["detail"]
    assert (same.status_code, unknown.status_code) == (201, 400)


async def test_a_key_of_sites_sees_what_is_defined_for_them(
    firm: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """Another site, and a policy for it, are not there for a key bound to sites; what holds for all is."""
    for scope in ({}, {"site": "harrow-dock"}, {"site": "east-yard"}):
        put = await firm.put("/v1/policies/pre-use-check", params=scope, json=cover(8), headers=administrator)
        assert put.status_code == 201
    lead = await keys.make("site-lead", ["harrow-dock"])

    async def status(address: str) -> int:
        return (await firm.get(address, headers=lead)).status_code

    places = ["/v1/sites/harrow-dock", "/v1/sites/east-yard", "/v1/models/northwind-2"]
    policies = [f"/v1/policies/pre-use-check{query}" for query in ("", "?site=harrow-dock", "?site=east-yard")]
    assert [await status(address) for address in places + policies] == [200, 404, 200, 200, 200, 404]
    sites = (await firm.get("/v1/sites", headers=lead)).json()["sites"]
    listed = (await firm.get("/v1/policies", headers=lead)).json()["policies"]
    assert [one["site"] for one in sites] == ["harrow-dock"]
    assert [one["scope"].get("site") for one in listed] == [None, "harrow-dock"]


async def test_a_definition_is_judged_like_a_posted_one(http: httpx.AsyncClient, administrator: Headers) -> None:
    """A wrong definition is a 422 that names the field and is kept; one for another address is refused too."""
    wrong = await http.put(
        "/v1/sites/harrow-dock", json=body(site("harrow-dock", profile="atlantis")), headers=administrator
    )
    other = await http.put("/v1/sites/harrow-dock", json=site("east-yard"), headers=administrator)

    assert (wrong.status_code, wrong.json()["errors"][0]["pointer"]) == (422, "#/profile")
    assert (other.status_code, other.json()["errors"][0]["pointer"]) == (422, "#/site")
    kept = [(await http.get(f"/v1/rejected/{one.json()['rejected']}", headers=administrator)) for one in (wrong, other)]
    assert [one.json()["state"] for one in kept] == ["open", "open"]


async def test_all_that_contradicts_the_address_is_named(refusing: Refusing) -> None:
    """What a definition says otherwise than its address is told of each field at once."""
    http, administrator = refusing
    said = site("east-yard") | {"kind": "model-defined"}
    answered = await http.put("/v1/sites/harrow-dock", json=said, headers=administrator)

    assert answered.status_code == 422
    assert [fault["pointer"] for fault in answered.json()["errors"]] == ["#/kind", "#/site"]


@pytest.mark.parametrize("content", [b"[]", b'{"name":', b'{"site":"east-yard"}', b'{"name":"a","name":"b"}'])
async def test_what_is_no_definition_is_kept_too(
    http: httpx.AsyncClient, administrator: Headers, content: bytes
) -> None:
    """A body that no event can be made of is a rejected message like any other, kept as it came (design 3.8)."""
    given = administrator | {"content-type": "application/json"}
    answered = await http.put("/v1/sites/harrow-dock", content=content, headers=given)
    kept = await http.get(f"/v1/rejected/{answered.json()['rejected']}", headers=administrator)

    assert answered.status_code in {400, 422}
    assert (kept.json()["body"], kept.json()["state"]) == (content.decode(), "open")
    assert kept.json()["problem"]["detail"] == answered.json()["detail"]


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"[]",
        b"7",
        b'{"name":"\\ud800"}',
        b'{"name":"\xff"}',
        b'{"name":"a\\u0000b"}',
        b'{"effective_from":9e999}',
        b'{"name":NaN}',
        b'{"name":1180591620717411303424}',
        b'{"id":7}',
        b'{"kind":"model-defined"}',
        b'{"employer":' + b"[" * 100 + b"]" * 100 + b"}",
    ],
)
async def test_a_bad_definition_is_a_clear_problem(refusing: Refusing, content: bytes) -> None:
    """What is no JSON or no definition is refused as such, whatever it is, and nothing is defined."""
    http, administrator = refusing
    json = {"content-type": "application/json"}
    answered = await http.put("/v1/sites/north-quay", content=content, headers=administrator | json)

    assert answered.status_code in {400, 422}
    assert answered.json()["type"] in {"/problems/not-json", "/problems/malformed", "/problems/too-deep"}
    assert (await http.get("/v1/sites/north-quay", headers=administrator)).status_code == 404


async def test_what_is_defined_is_listed(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """A list names everything that is defined, by reference, page by page."""
    first = (await firm.get("/v1/sites?limit=1", headers=administrator)).json()
    rest = (await firm.get("/v1/sites", params={"after": first["next"]}, headers=administrator)).json()

    assert [item["site"] for item in first["sites"] + rest["sites"]] == ["east-yard", "harrow-dock"]
    assert rest["next"] is None
    assert [item["model"] for item in (await firm.get("/v1/models", headers=administrator)).json()["models"]] == [
        "northwind-2"
    ]


async def test_a_unit_of_no_known_sort_is_refused_by_name(http: httpx.AsyncClient, administrator: Headers) -> None:
    """A model of airline units, whose air supply is not judged yet, is refused and told so (design 4)."""
    answered = await http.post("/v1/events", json=model(device="airline"), headers=administrator)

    assert (answered.status_code, answered.json()["type"]) == (422, "/problems/unsupported-model")
