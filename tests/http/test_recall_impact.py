"""What a recall reaches: the units, by what sits or sat in them, the people who had them, and stock."""

import csv
import io
from datetime import UTC, datetime
from typing import Any

import httpx

from tests.http.firm import Headers, ago, checked, issued, message, model, post, site
from tests.http.keys import Keys
from tests.http.recall_firm import BAD, fleet, hood, impact, opened, some, stocked, swap, units

__all__ = ["fleet"]


async def test_impact_counts_what_has_it_had_it_and_may_have_it(
    fleet: httpx.AsyncClient, administrator: Headers
) -> None:
    """Two units have the lot, one had it before, one may have it; of a unit with another lot nothing is told."""
    told = await impact(fleet, administrator)

    assert some(told["total"]) == {
        "units": 4,
        "affected": 3,
        "certain": 2,
        "once": 1,
        "outstanding": 3,
        "silent": 3,
        "people": 2,
    }
    assert [(one["site"], one["units"], one["outstanding"]) for one in told["sites"]] == [
        ("east-yard", 1, 1),
        ("harrow-dock", 3, 2),
    ]
    found = units(told)
    assert list(found) == ["FX-1", "FX-2", "FX-3", "YD-1"]
    assert [one["sittings"][0]["state"] for one in found.values()] == ["affected", "removed", "affected", "affected"]
    assert [one["certain"] for one in found.values()] == [True, True, False, True]
    assert (found["FX-1"]["phase"], found["FX-1"]["standing"], found["FX-1"]["do_not_use"]) == (
        "issued",
        "do-not-use",
        True,
    )
    assert [(day["site"], day["outstanding"]) for day in told["progress"]] == [("east-yard", 1), ("harrow-dock", 2)]
    assert told["rehearsal"] is None


async def test_impact_names_people_by_reference_and_for_how_long(
    fleet: httpx.AsyncClient, administrator: Headers
) -> None:
    """Who had the unit and who wore it meanwhile is told, with the seconds as far as an end was recorded."""
    told = await impact(fleet, administrator)
    unit = units(told)["FX-1"]

    (hand,) = unit["hands"]
    assert (hand["holder"], hand["until"]) == ({"person": "p-3071"}, None)
    assert 36_000 <= hand["seconds"] < 37_000
    assert [(one["person"], one["times"], one["seconds"]) for one in unit["wearers"]] == [
        ("p-3071", 1, 3600),
        ("p-9", 1, 0),
    ]
    assert {one["code"]: one["count"] for one in told["unknown"]} == {
        "part-not-named": 1,
        "part-taken-out": 1,
        "not-located": 3,
        "wearing-without-end": 1,
        "stock-without-lot": 1,
    }
    assert all(one["says"].endswith(".") for one in told["unknown"])


async def test_stock_is_told_by_lot_and_site(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """What was counted, less what was fitted since; a quantity without a lot may be meant."""
    await post(fleet, administrator, swap("FX-4", {"hours": 3}, BAD, site="harrow-dock"))
    told = await impact(fleet, administrator)

    assert told["stock"] == [
        {
            "site": "east-yard",
            "item": "pf-170",
            "lot": None,
            "expires": None,
            "quantity": 3.0,
            "unit": "each",
            "certain": False,
        },
        {
            "site": "harrow-dock",
            "item": "pf-170",
            "lot": BAD,
            "expires": None,
            "quantity": 7.0,
            "unit": "each",
            "certain": True,
        },
    ]


async def test_a_count_that_was_taken_back_counts_again_once_that_is_taken_back(
    fleet: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """Of what was counted as two: eight while that is voided, two again when its voiding is."""
    other, count = await keys.make("manager"), stocked(2.0, occurred_at=ago(hours=2))
    void = message("voided", event=count["id"], reason="miscounted", by="p-2")
    again = message("voided", event=void["id"], reason="no, two", by="p-3")
    told = []
    for headers, said in ((administrator, count), (other, void), (administrator, again)):
        await post(fleet, headers, said)
        found = await impact(fleet, administrator)
        told.append([one["quantity"] for one in found["stock"] if one["lot"] == BAD])
    assert told == [[2.0], [8.0], [2.0]]


async def test_a_late_event_changes_today_and_not_what_was_known(
    fleet: httpx.AsyncClient, administrator: Headers
) -> None:
    """What comes to be known of this morning is told now; asked with what was known then, every byte is as it was."""
    then = datetime.now(UTC).isoformat()
    moments = {"as_at": then, "known_at": then}
    before = await fleet.get("/v1/recalls/rc-1/impact", headers=administrator, params=moments)
    await post(
        fleet, administrator, swap("FX-4", {"hours": 6}, BAD), hood("FX-7", BAD), stocked(1.0, where="east-yard")
    )
    again = await fleet.get("/v1/recalls/rc-1/impact", headers=administrator, params=moments)
    now = units(await impact(fleet, administrator))

    assert again.content == before.content
    assert list(units(before.json())) == ["FX-1", "FX-2", "FX-3", "YD-1"]
    assert list(now) == ["FX-1", "FX-2", "FX-3", "FX-4", "FX-7", "YD-1"]
    mid = units(await impact(fleet, administrator, as_at=ago(minutes=90), known_at=then))
    assert list(mid) == ["FX-1", "FX-2", "FX-3", "YD-1"]


async def test_units_come_page_by_page_with_the_same_whole(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """Each page tells of all units beside its own; what is recorded meanwhile is left out of account."""
    first = await impact(fleet, administrator, limit="3")
    await post(fleet, administrator, hood("ZZ-1", BAD))
    second = await impact(fleet, administrator, limit="3", after=first["next"])

    assert [list(units(page)) for page in (first, second)] == [["FX-1", "FX-2", "FX-3"], ["YD-1"]]
    assert (second["next"], second["total"], second["known_at"]) == (None, first["total"], first["known_at"])


async def test_a_table_has_a_row_a_unit(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """Every unit is a line that says which recall it is about; a lot that looks like a formula is none."""
    criteria = [{"item": "pf-170", "lots": [BAD, "=1+1"]}]
    await post(fleet, administrator, swap("FX-4", {"hours": 3}, "=1+1"), opened({"hours": 1}, "rc", criteria=criteria))
    answered = await fleet.get("/v1/recalls/rc/impact", headers=administrator | {"accept": "text/csv"})
    rows = list(csv.DictReader(io.StringIO(answered.text.removeprefix("\ufeff"))))

    assert [(row["recall.recall"], row["asset"], row["affected"]) for row in rows] == [
        ("rc", "FX-1", "true"),
        ("rc", "FX-2", "false"),
        ("rc", "FX-3", "true"),
        ("rc", "FX-4", "true"),
        ("rc", "YD-1", "true"),
    ]
    assert not [cell for row in rows for cell in row.values() if cell.startswith(("=", "+", "-", "@"))]


async def test_a_key_of_a_site_is_told_of_its_own(fleet: httpx.AsyncClient, administrator: Headers, keys: Keys) -> None:
    """Units and stock of another site are as if not there, and a site out of reach is none."""
    lead = await keys.make("site-lead", ["east-yard"])
    told = await impact(fleet, lead)
    narrowed = await impact(fleet, administrator, site="east-yard")

    assert list(units(told)) == ["YD-1"]
    assert [one["site"] for one in (*told["sites"], *told["stock"], *told["progress"])] == ["east-yard"] * 3
    assert told["recall"]["notice"] == "cracked housings"
    changing = {"as_at", "known_at"}
    assert {name: told[name] for name in told.keys() - changing} == {
        name: narrowed[name] for name in told.keys() - changing
    }
    refused = await fleet.get("/v1/recalls/rc-1/impact", headers=lead, params={"site": "harrow-dock"})
    assert (refused.status_code, refused.json()["type"]) == (404, "/problems/not-found")


async def test_a_unit_that_moves_is_told_where_it_is(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """Received at another site, a unit counts there; asked as at before, where it was."""
    await post(
        fleet,
        administrator,
        message("moved", asset="FX-1", to_site="east-yard", occurred_at=ago(minutes=50)),
        message("received", asset="FX-1", site="east-yard", occurred_at=ago(minutes=40)),
    )
    now, before = await impact(fleet, administrator), await impact(fleet, administrator, as_at=ago(minutes=55))

    assert (units(now)["FX-1"]["site"], units(before)["FX-1"]["site"]) == ("east-yard", "harrow-dock")


async def test_checks_and_failures_name_wearers_too(http: httpx.AsyncClient, administrator: Headers) -> None:
    """Who made a check, passed or failed, or noticed a failure wore the unit; the rates count none of that."""
    await post(
        http,
        administrator,
        *(site("harrow-dock"), model(), hood("FX-1", BAD)),
        issued("FX-1", holder={"crew": "crew-7"}, occurred_at=ago(hours=20)),
        checked("FX-1", wearer="p-1", occurred_at=ago(hours=19)),
        message("failed-check", asset="FX-1", points={"battery": "fail"}, wearer="p-2", occurred_at=ago(hours=10)),
        message("failed-in-use", asset="FX-1", signs=["other"], wearer="p-3", occurred_at=ago(hours=5)),
        message("worn", asset="FX-1", wearer="p-1", occurred_at=ago(hours=4), until=ago(hours=3)),
        opened({"hours": 2}),
    )
    told = await impact(http, administrator)

    assert [
        (one["person"], one["times"], one["seconds"], one["known_by"]) for one in units(told)["FX-1"]["wearers"]
    ] == [
        ("p-1", 2, 3600, ["checked", "worn"]),
        ("p-2", 1, 0, ["failed-check"]),
        ("p-3", 1, 0, ["failed-in-use"]),
    ]
    assert told["total"]["people"] == 3


async def test_records_without_names_name_nobody(fleet: httpx.AsyncClient, keys: Keys) -> None:
    """A worker representative reads that somebody had and wore a unit, not who, and no free text."""
    told = await impact(fleet, await keys.make("worker-representative"))
    unit: Any = units(told)["FX-1"]

    assert [hand["holder"] for hand in unit["hands"]] == [{"person": "withheld"}]
    assert [one["person"] for one in unit["wearers"]] == ["withheld", "withheld"]
    assert told["recall"]["notice"] is None


async def test_stock_of_what_was_taken_back_is_not_recalled(
    fleet: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """A lot of an opening that was voided may be fitted again; that of another opening may not."""
    more = opened({"hours": 1}, criteria=[{"item": "pf-170", "lot": "L9"}])
    await post(fleet, administrator, more, stocked(5.0, "L9"))
    both = await impact(fleet, administrator)
    void = message("voided", event=more["id"], reason="another lot", by="p-2")
    await post(fleet, await keys.make("manager"), void)
    one = await impact(fleet, administrator)

    assert [(lot["lot"], lot["quantity"]) for lot in both["stock"]] == [(None, 3.0), ("L9", 5.0), ("L2411", 8.0)]
    assert [(lot["lot"], lot["quantity"]) for lot in one["stock"]] == [(None, 3.0), ("L2411", 8.0)]
