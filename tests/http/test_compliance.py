"""The summary and what is behind it."""

import csv
import io
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import httpx
import pytest

from tests.http.doors import FOREIGN
from tests.http.firm import Headers, ago, checked, failed, issued, message, model, post, registered, site
from tests.http.keys import Keys

RESTS_ON = ("projection", "judged_to", "rules_to", "loosened_rules")


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


def days_of_this_month(since: timedelta) -> int:
    """Count the days of this month, in London, that a time up to now touches: each is a use of a unit in issue."""
    now = datetime.now(ZoneInfo("Europe/London"))
    begun = now - since
    return now.day if begun.month != now.month else now.day - begun.day + 1


async def test_the_summary_is_narrowed_and_grouped(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """By region, jurisdiction and model: the sites left out count nowhere, and groups add up to the total."""
    await post(
        firm,
        administrator,
        site("north-yard", region="north"),
        site("mesa", region="west", profile="us", time_zone="America/Denver"),
        model(model="southwind-1"),
        registered("NY-0001", site="north-yard"),
        registered("NY-0002", site="north-yard", model="southwind-1", serial="SW-1"),
        registered("ME-0001", site="mesa"),
        issued("NY-0001"),
        issued("NY-0002"),
        checked("NY-0002"),
    )

    async def groups(by: str, **asked: str) -> list[tuple[str | None, int, int]]:
        told = await summary(firm, administrator, group_by=by, **asked)
        for name in ("units", "in_scope", "compliant"):
            assert sum(group[name] for group in told["groups"]) == told["total"][name]
        for name in ("uses", "unit_days"):
            assert sum(group[name]["of"] for group in told["groups"]) == told["total"][name]["of"]
        return [(group["group"], group["units"], group["in_scope"]) for group in told["groups"]]

    assert await groups("region") == [("north", 2, 2), ("west", 1, 0), (None, 1, 0)]
    assert await groups("profile") == [("uk", 3, 2), ("us", 1, 0)]
    assert await groups("model") == [("northwind-2", 3, 1), ("southwind-1", 1, 1)]
    assert await groups("model", site="north-yard") == [("northwind-2", 1, 1), ("southwind-1", 1, 1)]
    uk = await summary(firm, administrator, profile="uk")
    assert [(one["site"], one["units"]) for one in uk["sites"]] == [
        ("east-yard", 0),
        ("harrow-dock", 1),
        ("north-yard", 2),
    ]
    north = await summary(firm, administrator, region="north", model="southwind-1")
    uses = days_of_this_month(since=timedelta(hours=3))
    assert [(one["site"], one["units"], one["uses"]["of"]) for one in north["sites"]] == [("north-yard", 1, uses)]
    none = await summary(firm, administrator, region="west", profile="uk")
    assert (none["sites"], none["total"]["units"], none["total"]["rate"]) == ([], 0, None)
    assert "groups" not in uk
    behind = {"region": "north", "model": "northwind-2", "standing": "overdue"}
    listed = await firm.get("/v1/compliance/assets", params=behind, headers=administrator)
    assert [unit["tag"] for unit in listed.json()["assets"]] == ["NY-0001"]


@pytest.mark.parametrize("path", ["/v1/compliance", "/v1/compliance/assets"])
async def test_a_misspelt_name_is_no_zero(
    firm: httpx.AsyncClient, administrator: Headers, keys: Keys, path: str
) -> None:
    """A region, a model or a site that is not there is a 404 that names the parameter and says what there is."""
    await post(firm, administrator, site("north-yard", region="north"), site("mesa", region="west"))
    lead = await keys.make("site-lead", ["north-yard"])

    async def refused(key: Headers, **asked: str) -> list[Any]:
        answered = await firm.get(path, params=asked, headers=key)
        assert (answered.status_code, answered.json()["type"]) == (404, "/problems/not-found")
        return [answered.json()["errors"][0]["parameter"], answered.json()["detail"]]

    none = "There is no such {0}, or none that this key may see: {1}."
    models = none.format("model", "/v1/models lists those that it may see")
    regions = none.format("region", "the regions of its sites are {}")
    assert await refused(administrator, model="northwind-3") == ["model", f"model: {models}"]
    assert await refused(administrator, region="nowhere") == ["region", f"region: {regions.format('north, west')}"]
    for region in ("nowhere", "west"):
        assert await refused(lead, region=region) == ["region", f"region: {regions.format('north')}"]
    assert (await refused(lead, site="mesa"))[0] == "site"


async def test_the_summary_comes_as_a_table(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """A terminal gets a line a site and the total, with the caution under it."""
    await post(firm, administrator, issued(), checked())
    answered = await firm.get("/v1/compliance", headers=administrator | {"Accept": "text/plain"})
    assert answered.headers["content-type"] == "text/plain; charset=utf-8"
    told = answered.text.splitlines()
    assert told[0].startswith("Compliance at 20")
    assert told[2].replace("in scope", "scope").replace("uses covered", "covered").split() == [
        *("site", "profile", "units", "scope", "compliant", "rate"),
        *("in-date", "due-soon", "overdue", "do-not-use", "covered"),
    ]
    assert told[4].split() == ["east-yard", "uk", "0", "0", "0", "-", "0", "0", "0", "0", "0/0"]
    assert told[5].split()[:5] == ["harrow-dock", "uk", "1", "1", "1"]
    assert told[7].split()[:5] == ["all", "1", "1", "1", "1.0000"]
    assert told[-1] == "This keeps records and reminds; it makes no unit safe. A unit that fails a check is not used."


async def test_groups_stand_in_every_form(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """What is asked for by region is in the spreadsheet, where `line` tells it from sites and total, and a table."""
    await post(firm, administrator, site("north-yard", region="north"), registered("NY-1", site="north-yard"))
    asked = {"group_by": "region"}
    table = await firm.get("/v1/compliance", params=asked, headers=administrator | {"Accept": "text/csv"})
    drawn = await firm.get("/v1/compliance", params=asked, headers=administrator | {"Accept": "text/plain"})
    rows = list(csv.DictReader(io.StringIO(table.content.decode("utf-8-sig"))))

    assert [(row["line"], row["site"], row["group"], row["units"]) for row in rows] == [
        ("site", "east-yard", "", "0"),
        ("site", "harrow-dock", "", "1"),
        ("site", "north-yard", "", "1"),
        ("group", "", "north", "1"),
        ("group", "", "", "1"),
        ("total", "", "", "2"),
    ]
    told = drawn.text.splitlines()
    start = told.index("By group")
    assert told[start + 2].split()[:3] == ["group", "units", "in"]
    assert [line.split()[:2] for line in (told[start + 4], told[start + 5], told[start + 7])] == [
        ["north", "1"],
        ["-", "1"],
        ["all", "2"],
    ]


async def test_every_form_says_what_it_rests_on(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """Each line of the spreadsheet and the table tell a projection from what is, and how many rules are loosened."""
    said = {"use": "occasional", "authorised_by": "p-3071", "reason": "worn on shutdowns only"}
    await post(firm, administrator, message("use-set", asset="FX-0142", **said))

    async def told(form: str, **asked: str) -> str:
        answered = await firm.get("/v1/compliance", params=asked, headers=administrator | {"Accept": form})
        return answered.content.decode("utf-8-sig")

    async def rows(**asked: str) -> list[tuple[str, ...]]:
        lines = csv.DictReader(io.StringIO(await told("text/csv", **asked)))
        assert list(lines.fieldnames or ())[-6:] == ["line", "group", *RESTS_ON]
        return [tuple(line[name] for name in ("line", *RESTS_ON)) for line in lines]

    parts = ("site", "site", "total")
    assert await rows() == [(line, "false", "5", "3", "1") for line in parts]
    assert await rows(as_at=ago(days=-30)) == [(line, "true", "5", "3", "1") for line in parts]
    projection = "This is a projection: how things will stand if nothing more is recorded."
    loosened = "Loosened rules: 1; 'loosened_rules' of the JSON form names them."
    caution = "This keeps records and reminds; it makes no unit safe. A unit that fails a check is not used."
    assert (await told("text/plain", as_at=ago(days=-30))).splitlines()[-4:] == ["", projection, loosened, caution]
    assert (await told("text/plain")).splitlines()[-3:] == ["", loosened, caution]


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
    await post(firm, administrator, model(model="northwind-3"))

    async def tags(**asked: str) -> list[str]:
        answered = await firm.get("/v1/compliance/assets", params=asked, headers=administrator)
        assert answered.status_code == 200, answered.text
        return [unit["tag"] for unit in answered.json()["assets"]]

    assert await tags(standing="do-not-use") == ["FX-0142"]
    assert await tags(rule="withdrawal") == ["FX-0142"]
    assert await tags(rule="withdrawal", model="northwind-2") == ["FX-0142"]
    assert await tags(rule="withdrawal", model="northwind-3") == []
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
