"""The doors to webhooks: what can be asked of them, and what is refused."""

from typing import Any
from uuid import uuid4

import httpx
import pytest

from service import push
from tests.http.doors import FOREIGN
from tests.http.keys import Keys
from tests.push.conftest import Headers, sending
from tests.push.hooks import hooked

URL = "https://erp.example.com/hooks"
PAUSED = {"url": URL, "state": "paused"}


async def test_a_webhook_is_told_as_it_was_made(http: httpx.AsyncClient, integrator: Headers) -> None:
    """What was wished of it stands in the answer, at its address and in the list; its secret in the answer alone."""
    wish = {"purpose": "Orders", "kinds": ["order-placed"], "site": "harrow-dock", "subject": "item:pf-170"}
    made = await http.post("/v1/webhooks", json=PAUSED | wish, headers=integrator)
    assert made.status_code == 201
    assert made.json() | PAUSED | wish == made.json()
    assert made.json()["secret"].startswith("whsec_")

    found = await http.get(made.headers["location"], headers=integrator)
    assert found.json() == {name: value for name, value in made.json().items() if name != "secret"}
    (listed,) = (await http.get("/v1/webhooks", headers=integrator)).json()["webhooks"]
    assert listed.pop("progress")["passed"] == 4
    assert listed == found.json()


@pytest.mark.parametrize(
    ("wish", "pointer"),
    [
        ({"url": "http://erp.example.com/"}, "#/url"),
        ({"url": "https://127.0.0.1/"}, "#/url"),
        ({"url": "https://erp.example.com:25/"}, "#/url"),
        ({"url": "https://me@erp.example.com/"}, "#/url"),
        ({"url": "nowhere"}, "#/url"),
        ({"kinds": ["order-placed", "order-eaten"]}, "#/kinds/1"),
        ({"kinds": []}, "#/kinds"),
        ({"site": "no-yard"}, "#/site"),
        ({"subject": "nothing"}, "#/subject"),
        ({"state": "disabled"}, "#/state"),
        ({"colour": "red"}, "#/colour"),
        ({"after": -1}, "#/after"),
    ],
)
async def test_what_cannot_be_sent_is_refused(
    keys: Keys,  # noqa: ARG001 - the firms
    app_url: str,
    integrator: Headers,
    wish: dict[str, Any],
    pointer: str,
) -> None:
    """An unsafe address, and anything that names what there is not, is refused with its place."""
    async with sending(app_url, webhook_private=False) as http:
        refused = await http.post("/v1/webhooks", json=PAUSED | wish, headers=integrator)
        assert (refused.status_code, refused.json()["errors"][0]["pointer"]) == (422, pointer)
        assert (await http.get("/v1/webhooks", headers=integrator)).json()["webhooks"] == []


async def test_a_site_of_another_key_is_no_site(http: httpx.AsyncClient, keys: Keys) -> None:
    """A key bound to a site makes no webhook for another, and is told of it as of one that never was."""
    bound = await keys.make("integrator", ["east-yard"])
    told = [
        (await http.post("/v1/webhooks", json=PAUSED | {"site": site}, headers=bound)).json()
        for site in ("harrow-dock", "no-yard")
    ]
    assert told[0] == told[1]
    assert told[0]["errors"][0]["pointer"] == "#/site"


async def test_a_change_asks_for_the_webhooks_own_sites(
    http: httpx.AsyncClient, keys: Keys, administrator: Headers
) -> None:
    """A key that sees all makes a webhook of one site ask for no other: it would see nothing there."""
    bound = await keys.make("integrator", ["east-yard"])
    hook = (await hooked(http, bound, URL, state="paused"))._replace(headers=administrator)
    refused = await hook.put(site="harrow-dock", state="paused")
    assert (refused.status_code, refused.json()["errors"][0]["pointer"]) == (422, "#/site")
    assert (await hook.put(site="east-yard", state="paused")).status_code == 200
    assert (await hook.read())[0]["site"] == "east-yard"


async def test_a_repeat_makes_nothing(http: httpx.AsyncClient, integrator: Headers) -> None:
    """Made again by its own id a webhook is told as it is, without its secret; another one of that id is refused."""
    wish = PAUSED | {"id": str(uuid4())}
    first, second = [await http.post("/v1/webhooks", json=wish, headers=integrator) for _ in range(2)]
    assert (first.status_code, second.status_code) == (201, 200)
    assert second.json() == first.json() | {"secret": None}
    other = await http.post("/v1/webhooks", json=wish | {"kinds": ["checked"]}, headers=integrator)
    assert (other.status_code, other.json()["type"]) == (409, "/problems/webhook-id-taken")


async def test_there_is_an_end_to_webhooks(
    http: httpx.AsyncClient, integrator: Headers, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An organisation has so many webhooks and no more."""
    monkeypatch.setattr(push, "MOST", 2)
    answers = [await http.post("/v1/webhooks", json=PAUSED, headers=integrator) for _ in range(3)]
    assert [answer.status_code for answer in answers] == [201, 201, 409]
    assert (answers[2].json()["type"], answers[2].json()["limit"]) == ("/problems/too-many-webhooks", 2)


async def test_a_list_goes_on(http: httpx.AsyncClient, integrator: Headers) -> None:
    """Webhooks are listed in the order they were made, page by page."""
    made = [await hooked(http, integrator, URL, state="paused") for _ in range(3)]
    pages: list[Any] = []
    after: dict[str, str] = {}
    for _ in range(3):
        pages.append((await http.get("/v1/webhooks", params={"limit": "1"} | after, headers=integrator)).json())
        after = {"after": pages[-1]["next"]}
    assert [one["webhook"] for page in pages for one in page["webhooks"]] == [one.made["webhook"] for one in made]
    assert pages[-1]["next"] is None


async def test_a_change_says_what_it_starts_from(http: httpx.AsyncClient, integrator: Headers) -> None:
    """A change names the version that it starts from, and does not undo what another changed meanwhile."""
    hook = await hooked(http, integrator, URL, state="paused")
    _, tag = await hook.read()
    unsaid = await http.put(hook.path, json=PAUSED, headers=integrator)
    assert unsaid.status_code == 428
    changed = await http.put(hook.path, json=PAUSED | {"purpose": "a"}, headers=integrator | {"if-match": tag})
    assert (changed.status_code, changed.json()["purpose"]) == (200, "a")
    assert (await hook.read())[1] == changed.headers["etag"] != tag
    late = await http.put(hook.path, json=PAUSED, headers=integrator | {"if-match": tag})
    assert late.status_code == 412
    known = await http.get(hook.path, headers=integrator | {"if-none-match": changed.headers["etag"]})
    assert known.status_code == 304


async def test_a_rotation_is_a_change(http: httpx.AsyncClient, integrator: Headers) -> None:
    """Who changes a webhook from before its secret was changed is told so."""
    hook = await hooked(http, integrator, URL, state="paused")
    _, tag = await hook.read()
    assert (await hook.post("secret", {})).status_code == 200
    late = await http.put(hook.path, json=PAUSED, headers=integrator | {"if-match": tag})
    assert late.status_code == 412
    assert (await hook.read())[0]["old_secret_until"] is not None
    assert (await hook.post("secret", {"overlap_hours": 169})).status_code == 422


async def test_what_is_taken_away_is_gone(http: httpx.AsyncClient, integrator: Headers) -> None:
    """A webhook that was taken away is not found by anything that is asked of it."""
    hook = await hooked(http, integrator, URL, state="paused")
    assert (await http.delete(hook.path, headers=integrator)).status_code == 204
    for method, path in (
        ("GET", ""),
        ("DELETE", ""),
        ("POST", "/test"),
        ("GET", "/deliveries"),
        ("GET", "/dead-letters"),
        ("POST", "/dead-letters/1/replay"),
    ):
        answered = await http.request(method, hook.path + path, headers=integrator)
        assert (answered.status_code, answered.json()["type"]) == (404, "/problems/not-found"), path


async def test_no_bodies_where_none_are_read(http: httpx.AsyncClient, integrator: Headers) -> None:
    """What takes no body refuses one, lest its sender believe it was read."""
    hook = await hooked(http, integrator, URL, state="paused")
    for what in ("test", "dead-letters/1/replay"):
        assert (await hook.post(what, {"a": 1})).status_code == 400
    assert (await http.request("DELETE", hook.path, json={}, headers=integrator)).status_code == 400


async def test_another_firms_webhook_is_none(http: httpx.AsyncClient, keys: Keys, integrator: Headers) -> None:
    """A webhook of another firm is found, listed and changed by nobody of ours."""
    theirs = await keys.make("administrator", organisation=FOREIGN)
    hook = (await hooked(http, theirs, URL, state="paused"))._replace(headers=integrator)
    assert (await http.get(hook.path, headers=integrator)).status_code == 404
    assert (await http.delete(hook.path, headers=integrator)).status_code == 404
    assert (await hook.post("test")).status_code == 404
    assert (await http.get("/v1/webhooks", headers=integrator)).json()["webhooks"] == []


async def test_without_a_key_of_the_operator_there_are_none(
    keys: Keys,  # noqa: ARG001 - the firms
    app_url: str,
    integrator: Headers,
) -> None:
    """Where the operator has set no key nothing is made, signed or sent; what there is can still be looked at."""
    async with sending(app_url) as http:
        hook = await hooked(http, integrator, "http://127.0.0.1:1024/")
    async with sending(app_url, webhook_key=None) as http:
        hook = hook._replace(http=http)
        made = await http.post("/v1/webhooks", json=PAUSED, headers=integrator)
        refused = [made, await hook.post("test"), await hook.post("secret", {})]
        assert {answer.json()["type"] for answer in refused} == {"/problems/webhooks-off"}
        assert (await hook.read())[0]["state"] == "active"


async def test_an_address_that_is_allowed_no_more_is_not_sent_to(
    keys: Keys,  # noqa: ARG001 - the firms
    app_url: str,
    integrator: Headers,
) -> None:
    """What was made while private addresses were allowed is refused once they are not."""
    async with sending(app_url) as http:
        hook = await hooked(http, integrator, "http://127.0.0.1:1024/", state="paused")
    async with sending(app_url, webhook_private=False) as http:
        told = (await hook._replace(http=http).post("test")).json()
    assert (told["delivered"], told["error"]) == (False, "address-refused")


async def test_deliveries_are_listed_by_state_and_page(http: httpx.AsyncClient, integrator: Headers) -> None:
    """Deliveries are told newest first, page by page, of one state if asked for, and as a table."""
    hook = await hooked(http, integrator, "http://127.0.0.1:1024/")
    await hook.until(waiting=1)
    told = await hook.told(state="waiting", limit=1)
    (one,) = told["deliveries"]
    assert (one["seq"], one["attempts"], one["status"], one["error"]) == (1, 1, None, "not-connected")
    assert told["progress"]["rests_until"] is not None
    assert (await hook.told(state="delivered"))["deliveries"] == []
    table = await http.get(f"{hook.path}/deliveries", headers=integrator | {"accept": "text/csv"})
    assert [line.split(",")[1] for line in table.text.splitlines()] == ["seq", "1"]
