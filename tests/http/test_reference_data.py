"""Reference data: read, defined and changed."""

import httpx
import pytest

from tests.http.conftest import Refusing
from tests.http.firm import Message, model, site

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

    silent, stale, weak, new = (
        await put(),
        await put(**{"if-match": '"999"'}),
        await put(**{"if-match": f"W/{etag}"}),
        None,
    )
    taken = await put(**{"if-none-match": "*"})
    assert [silent.status_code, stale.status_code, weak.status_code, taken.status_code] == [428, 412, 412, 412]
    assert silent.headers["etag"] == stale.headers["etag"] == etag
    assert (await http.get("/v1/sites/harrow-dock", headers=administrator)).headers["etag"] == etag

    new = await put(**{"if-match": etag})
    after = await http.get("/v1/sites/harrow-dock", headers=administrator)
    assert new.status_code in {200, 201}
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


@pytest.mark.parametrize("conditions", [{"if-match": '"1"'}, {"if-match": "*"}, {"if-match": '"1", "2"'}])
async def test_what_is_not_there_cannot_be_changed(
    http: httpx.AsyncClient, administrator: Headers, conditions: Headers
) -> None:
    """A change of what nobody defined fails its condition, or is told to name one version."""
    answered = await http.put("/v1/sites/nowhere", json=body(site("nowhere")), headers=administrator | conditions)

    assert answered.status_code in {400, 412}
    assert (await http.get("/v1/sites/nowhere", headers=administrator)).status_code == 404


async def test_a_definition_is_judged_like_a_posted_one(http: httpx.AsyncClient, administrator: Headers) -> None:
    """A wrong definition is a 422 that names the field and is kept; one for another address is refused too."""
    wrong = await http.put(
        "/v1/sites/harrow-dock", json=body(site("harrow-dock", profile="atlantis")), headers=administrator
    )
    other = await http.put("/v1/sites/harrow-dock", json=site("east-yard"), headers=administrator)

    assert (wrong.status_code, wrong.json()["errors"][0]["pointer"]) == (422, "#/profile")
    assert (other.status_code, other.json()["errors"][0]["pointer"]) == (422, "#/site")


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
