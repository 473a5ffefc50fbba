"""Units, read."""

from datetime import datetime, timedelta
from typing import Any

import httpx
import pytest

from tests.http.doors import FOREIGN
from tests.http.firm import Headers, ago, checked, failed, issued, message, post, registered
from tests.http.keys import Keys


async def read(http: httpx.AsyncClient, headers: Headers, path: str, **asked: Any) -> Any:
    """Read what is there."""
    answered = await http.get(path, params=asked, headers=headers)
    assert answered.status_code == 200, answered.text
    return answered.json()


async def test_a_unit_tells_where_it_is_and_whether_it_may_be_used(
    firm: httpx.AsyncClient, administrator: Headers
) -> None:
    """A unit in use is shown with its holder, its standing, every rule and its parts."""
    await post(firm, administrator, issued(), checked())
    unit = await read(firm, administrator, "/v1/assets/FX-0142")

    assert (unit["tag"], unit["model"], unit["serial"]) == ("FX-0142", "northwind-2", "NW-FX-0142")
    assert (unit["site"], unit["phase"], unit["holder"]) == ("harrow-dock", "issued", {"person": "p-3071"})
    assert (unit["standing"], unit["do_not_use"], unit["reasons"]) == ("in-date", False, [])
    assert unit["rules"]["pre-use-check"]["covered_wearer"] == "p-3071"
    assert [part["position"] for part in unit["parts"]] == ["battery", "particle-filter"]
    assert unit["judged_to"] == 6


async def test_a_unit_is_shown_as_it_was_and_as_it_was_known(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """`as_at` asks what was true at a moment, `known_at` what had been recorded by one."""
    await post(firm, administrator, issued(), checked())
    known = (await read(firm, administrator, "/v1/assets/FX-0142"))["known_at"]
    await post(firm, administrator, failed())

    async def phase(**asked: str) -> str:
        return str((await read(firm, administrator, "/v1/assets/FX-0142", **asked))["phase"])

    assert await phase() == "quarantined"
    assert await phase(known_at=known) == "issued"
    assert await phase(as_at=ago(minutes=90)) == "issued"
    assert await phase(as_at=ago(hours=4)) == "in-store"


async def test_what_lies_ahead_is_a_projection(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """A moment to come is answered from what is known, and said to be a projection; knowledge to come is refused."""
    ahead = await read(firm, administrator, "/v1/assets/FX-0142", as_at=ago(days=-400))
    refused = await firm.get("/v1/assets/FX-0142", params={"known_at": ago(days=-400)}, headers=administrator)

    assert ahead["projection"] is True
    assert (refused.status_code, refused.json()["type"]) == (400, "/problems/not-yet-known")


async def test_units_are_listed_by_what_they_are_like(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """Each filter narrows the list, and all that are given must hold."""
    await post(
        firm,
        administrator,
        registered("FX-0143"),
        registered("EY-0001", site="east-yard"),
        issued("FX-0143"),
        issued("EY-0001"),
        failed("EY-0001"),
    )

    async def tags(**asked: str) -> list[str]:
        return [unit["tag"] for unit in (await read(firm, administrator, "/v1/assets", **asked))["assets"]]

    assert await tags() == ["EY-0001", "FX-0142", "FX-0143"]
    assert await tags(site="harrow-dock") == ["FX-0142", "FX-0143"]
    assert await tags(phase="issued") == ["FX-0143"]
    assert await tags(standing="do-not-use") == ["EY-0001"]
    assert await tags(model="northwind-2", phase="in-store") == ["FX-0142"]
    assert await tags(text="ey-00") == ["EY-0001"]
    assert await tags(text="nw-fx-0143") == ["FX-0143"]
    assert await tags(holder="p-3071") == ["EY-0001", "FX-0143"]
    assert await tags(holder="p-3071", site="east-yard") == ["EY-0001"]
    assert await tags(holder="p-9") == []


async def test_units_are_not_listed_by_a_model_that_there_is_not(
    firm: httpx.AsyncClient, administrator: Headers
) -> None:
    """A misspelt model is a 404 that names the parameter, and no empty list."""
    refused = await firm.get("/v1/assets", params={"model": "another"}, headers=administrator)
    assert (refused.status_code, refused.json()["errors"][0]["parameter"]) == (404, "model")


async def test_a_unit_is_found_by_its_earlier_tags(firm: httpx.AsyncClient, administrator: Headers, keys: Keys) -> None:
    """Part of any tag that a unit had finds it, unless another unit has that tag now; no unit of another site."""
    await post(
        firm,
        administrator,
        message("retagged", asset="FX-0142", new_tag="FX-0200", occurred_at=ago(hours=3)),
        message("retagged", asset="FX-0200", new_tag="HD-1", occurred_at=ago(hours=2)),
        registered("FX-0200", serial="another", occurred_at=ago(hours=1)),
    )

    async def tags(text: str, key: Headers = administrator) -> list[str]:
        return [unit["tag"] for unit in (await read(firm, key, "/v1/assets", text=text))["assets"]]

    assert await tags("fx-014") == ["HD-1"]
    assert await tags("FX-0200") == ["FX-0200"]
    assert await tags("fx-0") == ["FX-0200", "HD-1"]
    assert await tags("fx-014", await keys.make("site-app", ["east-yard"])) == []


async def test_who_reads_no_names_cannot_ask_after_one(
    firm: httpx.AsyncClient, keys: Keys, administrator: Headers
) -> None:
    """A list of what somebody has would tell a name to whom records are told without."""
    await post(firm, administrator, issued())
    representative = await keys.make("worker-representative")
    refused = await firm.get("/v1/assets", params={"holder": "p-3071"}, headers=representative)
    assert (refused.status_code, refused.json()["type"]) == (403, "/problems/forbidden")


async def test_units_are_listed_by_when_their_examination_falls_due(
    firm: httpx.AsyncClient, administrator: Headers
) -> None:
    """A unit first issued three hours ago is due after a month; one whose month is over is due already."""
    await post(
        firm,
        administrator,
        registered("FX-0143", occurred_at=ago(days=90)),
        issued("FX-0143", occurred_at=ago(days=80)),
        issued(),
    )

    async def tags(before: str) -> list[str]:
        told = await read(firm, administrator, "/v1/assets", due_before=before)
        return [unit["tag"] for unit in told["assets"]]

    assert await tags(ago(days=100)) == ["FX-0143"]
    assert await tags(ago(days=-20)) == ["FX-0143"]
    assert await tags(ago(days=-40)) == ["FX-0142", "FX-0143"]


async def test_a_list_tells_who_has_each_unit_and_when_it_is_due(
    firm: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """Of a unit issued just now the list tells its use, its holder, and a moment just after which it is asked by."""
    await post(firm, administrator, issued())
    [unit] = (await read(firm, administrator, "/v1/assets"))["assets"]
    assert (unit["use"], unit["holder"]) == ("routine", {"person": "p-3071"})
    due = datetime.fromisoformat(unit["due"])
    later = (due + timedelta(microseconds=1)).isoformat()
    assert (await read(firm, administrator, "/v1/assets", due_before=due.isoformat()))["assets"] == []
    assert [one["tag"] for one in (await read(firm, administrator, "/v1/assets", due_before=later))["assets"]] == [
        "FX-0142"
    ]
    table = await firm.get("/v1/assets", headers=administrator | {"Accept": "text/csv"})
    head, line = (row.split(",") for row in table.text.removeprefix("\ufeff").splitlines())
    told = dict(zip(head, line, strict=True))
    assert (told["use"], told["holder.person"], told["due"]) == ("routine", "p-3071", unit["due"])
    representative = await keys.make("worker-representative")
    [nameless] = (await read(firm, representative, "/v1/assets"))["assets"]
    assert nameless["holder"] == {"person": "withheld"}


async def test_units_are_listed_page_by_page(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """A list goes on where the page before ended, also when a unit came in between."""
    await post(firm, administrator, registered("FX-0143"), registered("FX-0144"))
    first = await read(firm, administrator, "/v1/assets", limit="2")
    await post(firm, administrator, registered("FX-0001"))
    second = await read(firm, administrator, "/v1/assets", limit="2", after=first["next"])

    assert [unit["tag"] for unit in first["assets"] + second["assets"]] == ["FX-0142", "FX-0143", "FX-0144"]
    assert second["next"] is None


async def test_a_history_is_in_the_order_of_happening(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """A late event stands in the history where it happened; one kind or one period can be asked for alone."""
    path = "/v1/assets/FX-0142/history"
    await post(firm, administrator, checked(), issued())
    told = await read(firm, administrator, "/v1/assets/FX-0142/history")
    checks = await read(firm, administrator, "/v1/assets/FX-0142/history", kind="checked")
    first = await read(firm, administrator, "/v1/assets/FX-0142/history", limit="1")
    rest = await read(firm, administrator, "/v1/assets/FX-0142/history", after=first["next"])

    assert [(event["kind"], event["seq"]) for event in told["events"]] == [
        ("registered", 4),
        ("issued", 6),
        ("checked", 5),
    ]
    assert [event["kind"] for event in checks["events"]] == ["checked"]
    assert [event["kind"] for event in first["events"] + rest["events"]] == ["registered", "issued", "checked"]
    between = {"from": ago(hours=4), "to": ago(hours=2.5)}
    assert [event["kind"] for event in (await read(firm, administrator, path, **between))["events"]] == ["issued"]
    later = await read(firm, administrator, path, **{"from": ago(hours=2.5)})
    assert [event["kind"] for event in later["events"]] == ["checked"]
    turned = await firm.get(path, params={"from": ago(hours=1), "to": ago(hours=2)}, headers=administrator)
    assert (turned.status_code, turned.json()["errors"][0]["parameter"]) == (400, "to")


async def test_a_standing_is_told_over_time_with_its_grounds(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """Intervals follow one another without a gap, each with its rules, the events behind them and the clause."""
    await post(firm, administrator, issued(), checked(), failed())
    since, until = ago(hours=4), ago(minutes=1)
    told = await read(firm, administrator, "/v1/assets/FX-0142/standing", **{"from": since, "to": until})
    intervals = told["intervals"]

    assert told["asset"] == "FX-0142"
    assert datetime.fromisoformat(intervals[0]["since"]) == datetime.fromisoformat(since)
    assert datetime.fromisoformat(intervals[-1]["until"]) == datetime.fromisoformat(until)
    assert [one["until"] for one in intervals[:-1]] == [one["since"] for one in intervals[1:]]
    assert intervals[-1]["standing"] == "do-not-use"
    withdrawal = next(rule for rule in intervals[-1]["rules"] if rule["rule"] == "withdrawal")
    assert withdrawal["because"] == [7]


async def test_a_stretch_ends_after_it_begins(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """A stretch of time that ends before it begins is refused."""
    asked = {"from": ago(hours=1), "to": ago(hours=2)}
    answered = await firm.get("/v1/assets/FX-0142/standing", params=asked, headers=administrator)

    assert (answered.status_code, answered.json()["errors"][0]["parameter"]) == (400, "to")


@pytest.mark.parametrize("path", ["", "/history", "/standing"])
async def test_a_unit_is_seen_by_whom_it_concerns(
    firm: httpx.AsyncClient, keys: Keys, administrator: Headers, path: str
) -> None:
    """A unit is there for keys of its site and of all sites, and not for other sites, other firms or other tags."""
    here = await keys.make("site-app", ["harrow-dock"])
    elsewhere = await keys.make("site-app", ["east-yard"])
    foreign = await keys.make("administrator", organisation=FOREIGN)

    async def status(headers: Headers, tag: str = "FX-0142") -> int:
        return (await firm.get(f"/v1/assets/{tag}{path}", headers=headers)).status_code

    assert [await status(administrator), await status(here)] == [200, 200]
    assert [await status(elsewhere), await status(foreign)] == [404, 404]
    assert [await status(administrator, "FX-9999"), await status(administrator, "%00")] == [404, 404]


async def test_a_unit_that_has_moved_is_read_at_its_new_site(
    firm: httpx.AsyncClient, keys: Keys, administrator: Headers
) -> None:
    """After a unit is received elsewhere, the keys of the new site read it and those of the old one no more."""
    moved = message("moved", asset="FX-0142", to_site="east-yard", occurred_at=ago(hours=2))
    await post(firm, administrator, moved, message("received", asset="FX-0142", site="east-yard"))
    old = await firm.get("/v1/assets/FX-0142", headers=await keys.make("site-lead", ["harrow-dock"]))
    new = await firm.get("/v1/assets/FX-0142", headers=await keys.make("site-lead", ["east-yard"]))

    assert (old.status_code, new.status_code) == (404, 200)


async def test_a_unit_that_is_known_is_not_sent_again(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """While nothing else is said of a unit its ETag stays, whatever is recorded of others; then it is another."""
    first = await firm.get("/v1/assets/FX-0142", headers=administrator)
    etag = first.headers["etag"]
    await post(firm, administrator, registered("FX-0143"))
    known = await firm.get("/v1/assets/FX-0142", headers=administrator | {"if-none-match": etag})
    await post(firm, administrator, issued())
    after = await firm.get("/v1/assets/FX-0142", headers=administrator | {"if-none-match": etag})

    assert (known.status_code, known.content, known.headers["etag"]) == (304, b"", etag)
    assert (after.status_code, after.json()["phase"]) == (200, "issued")
    assert after.headers["etag"] != etag


async def test_the_tag_of_a_moment_stands_for_every_byte(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """With both moments given the ETag is strong; without, the answer also tells when it was asked: it is weak."""
    now = await firm.get("/v1/assets/FX-0142", headers=administrator)
    asked = {name: now.json()[name] for name in ("as_at", "known_at")}
    pinned = await firm.get("/v1/assets/FX-0142", params=asked, headers=administrator)
    await post(firm, administrator, issued())
    again = await firm.get("/v1/assets/FX-0142", params=asked, headers=administrator)
    given = administrator | {"if-none-match": pinned.headers["etag"]}
    known = await firm.get("/v1/assets/FX-0142", params=asked, headers=given)

    assert now.headers["etag"] == f"W/{pinned.headers['etag']}"
    assert (again.headers["etag"], again.content) == (pinned.headers["etag"], pinned.content)
    assert known.status_code == 304


async def test_a_unit_is_read_on_if_it_is_still_as_it_was(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """`If-Match` compares strongly (RFC 9110 section 13.1.1): a weak tag never matches, that of a moment does."""
    now = await firm.get("/v1/assets/FX-0142", headers=administrator)
    asked = {name: now.json()[name] for name in ("as_at", "known_at")}
    weak, strong = now.headers["etag"], now.headers["etag"].removeprefix("W/")

    async def read(condition: str, params: dict[str, str]) -> httpx.Response:
        return await firm.get("/v1/assets/FX-0142", params=params, headers=administrator | {"if-match": condition})

    answers = [await read(*told) for told in ((strong, asked), ("*", {}), (weak, asked), (weak, {}), (strong, {}))]
    assert [one.status_code for one in answers] == [200, 200, 412, 412, 412]
    assert [one.headers["etag"] for one in answers] == [strong, weak, strong, weak, weak]
    assert answers[-1].json()["current"] is None


@pytest.mark.parametrize(
    ("path", "told"),
    [
        ("/v1/assets/%20", "There is no such asset, or none that this key may see: /v1/assets lists those that it may"),
        ("/v1/sites/%20", "There is no such site, or none that this key may see: /v1/sites lists those that it may"),
        ("/v1/events/FX-0142", "There is no such event, or none that this key may see: its id is a UUID, and /v1/ev"),
        (
            "/v1/rejected/7",
            "There is no such rejected message, or none that this key may see: its id is a UUID",
        ),
    ],
)
async def test_what_can_be_no_name_is_not_found(
    firm: httpx.AsyncClient, administrator: dict[str, str], path: str, told: str
) -> None:
    """A name that nothing can have is answered as one that nothing has, and what names look like there is told."""
    answered = await firm.get(path, headers=administrator)

    assert (answered.status_code, answered.json()["type"]) == (404, "/problems/not-found")
    assert answered.json()["detail"].startswith(told)
