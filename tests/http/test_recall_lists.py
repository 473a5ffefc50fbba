"""What a recall has done as lists of their own: sites, people, stock, and the histories handed on."""

import csv
import io
from typing import Any

import httpx

from tests.http.firm import Headers, ago, issued, message, model, post, site
from tests.http.keys import Keys
from tests.http.recall_firm import BAD, fleet, hood, impact, opened, some
from tests.outbound.schema import faults

__all__ = ["fleet"]
EPCIS = {"accept": "application/ld+json"}
CSV = {"accept": "text/csv"}


async def told(http: httpx.AsyncClient, headers: Headers, what: str, **asked: Any) -> Any:
    """Ask for a list of the recall."""
    answered = await http.get(f"/v1/recalls/rc-1/{what}", headers=headers, params=asked)
    assert answered.status_code == 200, answered.text
    return answered.json()


async def table(http: httpx.AsyncClient, headers: Headers, what: str) -> list[dict[str, str]]:
    """Ask for a list of the recall as a table."""
    answered = await http.get(f"/v1/recalls/rc-1/{what}", headers=headers | CSV)
    assert answered.status_code == 200, answered.text
    return lines(answered)


def lines(answered: httpx.Response) -> list[dict[str, str]]:
    """Give the lines of a table by their columns."""
    return list(csv.DictReader(io.StringIO(answered.content.decode("utf-8-sig"))))


async def test_people_are_told_over_all_units(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """Who had or wore two of the units is one row, with the time in each; crews are told as such."""
    worn = message("worn", asset="YD-1", wearer="p-3071", occurred_at=ago(hours=6), until=ago(hours=5))
    crew = issued("FX-3", holder={"crew": "night"}, occurred_at=ago(hours=3))
    await post(fleet, administrator, hood("FX-5", "L2411"), worn, crew)
    await post(fleet, administrator, issued("FX-5", occurred_at=ago(hours=4)))
    rows = (await told(fleet, administrator, "people"))["people"]

    assert [(one["holder"], one["units"], one["times_worn"], one["worn_seconds"]) for one in rows] == [
        ({"person": "p-3071"}, 3, 2, 7200),
        ({"person": "p-9"}, 1, 1, 0),
        ({"crew": "night"}, 1, 0, 0),
    ]
    held = rows[0]["held_seconds"]
    assert 14 * 3600 <= held < 14 * 3600 + 600
    assert rows[0]["first"] < rows[1]["first"] < rows[0]["last"]
    people = await table(fleet, administrator, "people")
    assert [(one["holder.person"], one["holder.crew"], one["units"]) for one in people] == [
        ("p-3071", "", "3"),
        ("p-9", "", "1"),
        ("", "night", "1"),
    ]


async def test_people_of_one_site_are_asked_for(fleet: httpx.AsyncClient, administrator: Headers, keys: Keys) -> None:
    """A site, and a key of it, are told of the units of that site alone; a worker representative of nobody."""
    lead = await keys.make("site-lead", ["east-yard"])
    there = (await told(fleet, administrator, "people", site="harrow-dock"))["people"]
    representative = await keys.make("worker-representative")
    refused = await fleet.get("/v1/recalls/rc-1/people", headers=representative)

    assert [one["holder"]["person"] for one in there] == ["p-3071", "p-9"]
    assert (await told(fleet, lead, "people"))["people"] == []
    assert refused.status_code == 403


async def test_sites_and_stock_are_had_as_tables(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """Each list is a table, too: a line a site, and a line a lot, each with the recall and the moments."""
    sites, stock = [await table(fleet, administrator, what) for what in ("sites", "stock")]

    assert [(one["recall"], one["site"], one["units"], one["outstanding"], one["people"]) for one in sites] == [
        ("rc-1", "east-yard", "1", "1", "0"),
        ("rc-1", "harrow-dock", "3", "2", "2"),
    ]
    assert [(one["site"], one["item"], one["lot"], one["quantity"], one["certain"]) for one in stock] == [
        ("east-yard", "pf-170", "", "3.0", "false"),
        ("harrow-dock", "pf-170", "L2411", "8.0", "true"),
    ]


async def test_pages_of_a_list_join_without_a_gap(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """Page by page a list tells the same as at once; a cursor of another list is refused."""
    whole = (await told(fleet, administrator, "sites"))["sites"]
    first = await told(fleet, administrator, "sites", limit=1)
    second = await told(fleet, administrator, "sites", limit=1, after=first["next"])
    other = await fleet.get("/v1/recalls/rc-1/stock", headers=administrator, params={"after": first["next"]})

    assert [*first["sites"], *second["sites"]] == whole
    assert (len(whole), second["next"], other.status_code) == (2, None, 400)


async def test_histories_of_all_units_are_one_document(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """The document of a recall is valid under the published schema: first what each unit's own document holds."""
    handed_on = (await fleet.get("/v1/recalls/rc-1/history", headers=administrator | EPCIS)).json()
    single = [
        event["eventID"]
        for tag in ("FX-1", "FX-2", "FX-3", "YD-1")
        for event in (await fleet.get(f"/v1/assets/{tag}/history", headers=administrator | EPCIS)).json()["epcisBody"][
            "eventList"
        ]
    ]

    assert faults(handed_on) == []
    every = [event["eventID"] for event in handed_on["epcisBody"]["eventList"]]
    assert every[: len(single)] == single
    assert len(set(every)) == len(every) == len(single) + 2 > 10


async def test_histories_come_page_by_page(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """In pages of three of our events, which cut units in the middle, as in one piece; of the lot alone."""
    rows: list[dict[str, str]] = []
    where: str | None = "/v1/recalls/rc-1/history?limit=3"
    while where is not None:
        answered = await fleet.get(where, headers=administrator | CSV)
        assert answered.status_code == 200, answered.text
        page = lines(answered)
        assert len(page) <= 3
        rows += page
        where = answered.links["next"]["url"] if "next" in answered.links else None

    assert rows == await table(fleet, administrator, "history")
    assert [(one["asset"], one["kind"]) for one in rows] == [
        ("FX-1", "registered"),
        ("FX-1", "issued"),
        ("FX-1", "worn"),
        ("FX-1", "worn"),
        ("FX-2", "registered"),
        ("FX-2", "filter-replaced"),
        ("FX-3", "registered"),
        ("YD-1", "registered"),
        ("", "stock-counted"),
        ("", "stock-counted"),
    ]


async def test_a_history_is_had_of_a_recall_that_there_is(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """A recall that nobody opened, and a cursor that nobody gave, are told as such."""
    absent = await fleet.get("/v1/recalls/rc-9/history", headers=administrator)
    wrong = await fleet.get("/v1/recalls/rc-1/history", headers=administrator, params={"after": "FX-1"})

    assert (absent.status_code, absent.json()["type"]) == (404, "/problems/not-found")
    assert (wrong.status_code, wrong.json()["type"]) == (400, "/problems/bad-cursor")


async def test_who_had_a_unit_is_told_where_that_was(
    http: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """The unit has moved: a key of the site where it was worn is told who wore it there, and not where it is now."""
    await post(
        http,
        administrator,
        *(site("harrow-dock"), site("east-yard"), model(), hood("FX-1", BAD)),
        issued("FX-1", holder={"person": "p-5"}, occurred_at=ago(hours=20)),
        message("worn", asset="FX-1", wearer="p-5", occurred_at=ago(hours=19), until=ago(hours=18)),
        message("moved", asset="FX-1", to_site="east-yard", occurred_at=ago(hours=10)),
        message("received", asset="FX-1", site="east-yard", occurred_at=ago(hours=9)),
        issued("FX-1", holder={"person": "p-6"}, site="east-yard", occurred_at=ago(hours=8)),
        opened({"hours": 2}),
    )
    told = await impact(http, administrator)
    (unit,) = told["units"]
    assert [(one["holder"], one["site"]) for one in unit["hands"]] == [
        ({"person": "p-5"}, "harrow-dock"),
        ({"person": "p-6"}, "east-yard"),
    ]
    assert [(one["person"], one["site"]) for one in unit["wearers"]] == [("p-5", "harrow-dock")]
    assert [(one["site"], one["units"], one["people"]) for one in told["sites"]] == [
        ("east-yard", 1, 1),
        ("harrow-dock", 0, 1),
    ]
    assert told["total"]["people"] == 2

    dock = await keys.make("manager", ["harrow-dock"])
    mine = await impact(http, dock)
    assert (mine["units"], some(mine["total"])) == ([], {"people": 1})
    for headers, asked in ((dock, {}), (administrator, {"site": "harrow-dock"})):
        answered = await http.get("/v1/recalls/rc-1/people", headers=headers, params=asked)
        assert [one["holder"] for one in answered.json()["people"]] == [{"person": "p-5"}]
        assert "east-yard" not in answered.text
