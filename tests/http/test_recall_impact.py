"""What a recall reaches: the units, by what sits or sat in them, the people who had them, and stock."""

import csv
import io
from datetime import UTC, datetime
from typing import Any

import httpx
import pytest

from tests.http.firm import Headers, ago, checked, issued, message, model, post, registered, site
from tests.http.keys import Keys
from tests.http.recall_firm import BAD, LOT, fleet, hood, impact, opened, some, stocked, swap, units

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


async def test_an_unknown_lot_counts_until_it_is_identified(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """Identified as another lot, the unit is remedied from then on; it was outstanding before."""
    part = {"item": "pf-170", "lot": "L7", "condition": "new"}
    await post(
        fleet,
        administrator,
        message("part-identified", asset="FX-3", position="particle-filter", part=part, occurred_at=ago(minutes=30)),
    )
    now, before = await impact(fleet, administrator), await impact(fleet, administrator, as_at=ago(minutes=40))

    assert (units(now)["FX-3"]["affected"], units(before)["FX-3"]["affected"]) == (False, True)
    assert units(now)["FX-3"]["sittings"][0]["state"] == "identified"
    assert units(now)["FX-3"]["remedied_at"] is not None
    assert (now["total"]["remedied"], now["total"]["outstanding"], now["total"]["located"]) == (1, 2, 1)
    assert (before["total"]["remedied"], before["total"]["outstanding"]) == (0, 3)


async def test_a_part_that_went_to_another_unit_is_followed(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """Taken out of one unit and refitted in another, the lot is told of both, of each for its time."""
    moved = {"condition": "refitted", "serial": "PF-93"}
    await post(
        fleet,
        administrator,
        swap("FX-1", {"minutes": 50}, "L9"),
        swap("FX-4", {"minutes": 40}, BAD, part=moved),
    )
    found = units(await impact(fleet, administrator))

    assert (found["FX-1"]["affected"], found["FX-4"]["affected"]) == (False, True)
    assert (found["FX-1"]["remedied_at"], found["FX-1"]["sittings"][0]["until"]) == (
        found["FX-1"]["located_at"],
        found["FX-1"]["remedied_at"],
    )
    (sitting,) = found["FX-4"]["sittings"]
    assert (sitting["serial"], sitting["until"], sitting["state"]) == ("PF-93", None, "affected")
    assert sitting["since"] == found["FX-4"]["located_at"]


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


async def test_a_retagged_and_reissued_unit_is_one_unit(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """Under its new tag a unit keeps what sat in it before."""
    await post(
        fleet,
        administrator,
        message("retagged", asset="FX-1", new_tag="FX-9", occurred_at=ago(minutes=50)),
        issued("FX-9", occurred_at=ago(minutes=30), holder={"crew": "night"}),
    )
    told = await impact(fleet, administrator)

    assert "FX-1" not in units(told)
    unit = units(told)["FX-9"]
    assert [hand["holder"] for hand in unit["hands"]] == [{"person": "p-3071"}, {"crew": "night"}]
    assert unit["located_at"] is not None
    assert "holder-not-a-person" in {one["code"] for one in told["unknown"]}


async def test_units_themselves_are_recalled(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """By serial numbers and the day they were made; a unit of which that is not on record may be meant."""
    await post(
        fleet,
        administrator,
        registered("MD-1", serial="S-100", made_on="2026-01-05"),
        registered("MD-2", serial="S-101"),
        registered("MD-3", serial="S-102", made_on="2025-01-05"),
        opened(
            {"hours": 1}, "rc-u", criteria=[{"serial_from": "S-100", "serial_to": "S-199", "made_from": "2026-01-01"}]
        ),
    )
    told = await impact(fleet, administrator, "rc-u")

    assert [(tag, one["certain"]) for tag, one in units(told).items()] == [("MD-1", True), ("MD-2", False)]
    assert [one["sittings"][0]["position"] for one in told["units"]] == [None, None]
    assert "unit-not-dated" in {one["code"] for one in told["unknown"]}
    assert told["stock"] == []


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


async def test_what_was_taken_out_leaves_nothing_to_be_identified(
    fleet: httpx.AsyncClient, administrator: Headers
) -> None:
    """Of an unknown lot and replaced by another since, a filter is no open question any more."""
    before = {one["code"] for one in (await impact(fleet, administrator))["unknown"]}
    await post(fleet, administrator, swap("FX-3", {"minutes": 50}, "L9"))
    after = {one["code"] for one in (await impact(fleet, administrator))["unknown"]}

    assert ("part-not-named" in before, "part-not-named" in after) == (True, False)


async def test_what_came_out_is_told_by_what_was_said_of_it_then(
    fleet: httpx.AsyncClient, administrator: Headers
) -> None:
    """A filter that was never named, or named otherwise, was of the lot that its replacement read on it."""
    said = {"out": {"item": "pf-170", "lot": BAD}}
    await post(
        fleet,
        administrator,
        *(swap(tag, {"hours": 3}, "L9", **said) for tag in ("FX-3", "FX-4")),
        registered("FX-8", parts=[], occurred_at=ago(hours=30)),
        swap("FX-8", {"hours": 3}, "L9", **said),
    )
    now = datetime.now(UTC).isoformat()
    for moments in ({}, {"as_at": now, "known_at": now}):
        found = units(await impact(fleet, administrator, **moments))
        for tag in ("FX-3", "FX-4", "FX-8"):
            (sitting,) = found[tag]["sittings"]
            assert (sitting["state"], sitting["lot"], sitting["certain"]) == ("removed", BAD, True)


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


async def test_a_unit_registered_again_as_another_model_may_still_be_the_one_before(
    http: httpx.AsyncClient, administrator: Headers
) -> None:
    """Of its parts as of itself: it stays under the recall of its former model, which cannot be known to be wrong."""
    await post(
        http,
        administrator,
        *(site("harrow-dock"), model(maker="northwind"), model(model="northwind-3", maker="northwind")),
        hood("FX-1", BAD),
        message("retired", asset="FX-1", reason="other", occurred_at=ago(hours=20)),
        hood("FX-2", "L9", model="northwind-3", serial="NW-FX-1", occurred_at=ago(hours=15)),
        opened({"hours": 2}, criteria=[{"model": "northwind-2", "item": "bat-64"}]),
        opened({"hours": 2}, "rc-2", criteria=[{"model": "northwind-2", "serials": ["NW-FX-1"]}]),
        opened({"hours": 2}, "rc-3", criteria=[{"model": "northwind-3", "serials": ["NW-FX-1"]}]),
    )
    told = [units(await impact(http, administrator, recall)) for recall in ("rc-1", "rc-2", "rc-3")]

    assert [(one["FX-2"]["affected"], one["FX-2"]["certain"]) for one in told] == [
        (True, False),
        (True, False),
        (True, True),
    ]
    assert "recall" in (await http.get("/v1/assets/FX-2", headers=administrator)).json()["reasons"]


def of_filters(*items: str, **fields: Any) -> Any:
    """Define a model with some filters, and no other position."""
    place = {"position": "particle-filter", "role": "particle", "items": list(items), "required": True}
    return model(positions=[place], **fields)


async def stopped(http: httpx.AsyncClient, headers: Headers) -> tuple[Any, ...]:
    """Say how FX-1 stands under the recall: in its impact now and as known now, in a preview, and by its own answer."""
    now = datetime.now(UTC).isoformat()
    told = [await impact(http, headers, **moments) for moments in ({}, {"as_at": now, "known_at": now})]
    preview = await http.post("/v1/recalls/preview", json={"criteria": [LOT]}, headers=headers)
    unit = (await http.get("/v1/assets/FX-1", headers=headers)).json()
    found = [units(one).get("FX-1", {}) for one in (*told, preview.json())]
    return ({one.get("affected") for one in found}, {one.get("certain") for one in found}, unit["reasons"])


async def test_registered_again_as_another_model_a_unit_holds_what_either_lists(
    http: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """Of its filter nothing was ever said: a site app that calls it another model lets it out of no recall."""
    await post(
        http,
        administrator,
        *(site("harrow-dock"), of_filters("pf-170", maker="mk")),
        *(of_filters("pf-300", model="other-1", maker="mk"), registered("FX-1", parts=[], occurred_at=ago(days=9))),
        *(issued("FX-1", occurred_at=ago(days=7)), opened({"days": 5})),
    )
    before = await stopped(http, administrator)
    app = await keys.make("site-app", ["harrow-dock"])
    again = registered("FX-1", model="other-1", parts=[], occurred_at=ago(hours=1))
    await post(http, app, again)
    taken_for_another = await stopped(http, administrator)
    clear = {"position": "particle-filter", "part": {"item": "pf-300", "condition": "new"}}
    await post(http, app, message("part-identified", asset="FX-1", **clear))

    assert before == ({True}, {False}, before[2])
    assert taken_for_another == before
    assert "recall" in before[2]
    assert "recall" not in (await stopped(http, administrator))[2]


async def test_what_another_model_lists_later_is_looked_for_too(
    http: httpx.AsyncClient, administrator: Headers
) -> None:
    """The model it was registered as before is defined anew, with the filter of the recall: then it may have that."""
    await post(
        http,
        administrator,
        *(site("harrow-dock"), of_filters("pf-200", maker="mk")),
        *(of_filters("pf-300", model="other-1", maker="mk"), registered("FX-1", parts=[], occurred_at=ago(days=9))),
        registered("FX-1", model="other-1", parts=[], occurred_at=ago(days=8)),
        *(issued("FX-1", occurred_at=ago(days=7)), opened({"days": 5})),
    )
    before = await stopped(http, administrator)
    await post(http, administrator, of_filters("pf-170", maker="mk"))
    after = await stopped(http, administrator)

    assert (before[0], "recall" in before[2]) == ({None}, False)
    assert (after[0], after[1], "recall" in after[2]) == ({True}, {False}, True)


async def test_to_take_a_model_back_lets_no_unit_out_of_a_recall(
    http: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """What its only version listed may sit there still, which is told as not known; and it stays the unit it is."""
    defined = of_filters("pf-170", maker="mk")
    await post(
        http,
        administrator,
        *(site("harrow-dock"), defined, registered("FX-1", parts=[], occurred_at=ago(days=9))),
        *(issued("FX-1", occurred_at=ago(days=7)), opened({"days": 5})),
    )
    await post(http, await keys.make("administrator"), message("voided", event=defined["id"], reason="wrong", by="p-8"))
    taken_back = await stopped(http, administrator)
    unknown = {one["code"]: one["count"] for one in (await impact(http, administrator))["unknown"]}
    other = of_filters("pf-300", model="other-1", maker="mk")
    await post(http, administrator, other, registered("FX-1", model="other-1", parts=[], occurred_at=ago(hours=1)))

    affected, certain, reasons = taken_back
    assert (affected, certain, "recall" in reasons, unknown["nothing-said"]) == ({True}, {False}, True, 1)
    affected, certain, reasons = await stopped(http, administrator)
    assert (affected, certain, "recall" in reasons) == ({True}, {False}, True)


async def test_a_part_is_known_by_what_was_told_of_it_elsewhere(
    http: httpx.AsyncClient, administrator: Headers
) -> None:
    """Its serial number was taken down in both units, its lot in one: in the other it is certain, too."""
    serial = {"serial": "PF-0093"}
    await post(
        http,
        administrator,
        *(site("harrow-dock"), model(), hood("FX-1", "L9"), hood("FX-2", "L9")),
        swap("FX-1", {"hours": 20}, BAD, part=serial),
        swap("FX-1", {"hours": 15}, "L9", part={"serial": "PF-1"}),
        swap("FX-2", {"hours": 12}, None, part={"serial": "pf-93"}),
        opened({"hours": 2}),
    )
    told = units(await impact(http, administrator))

    assert [(tag, one["certain"], one["sittings"][0]["lot"]) for tag, one in told.items()] == [
        ("FX-1", True, BAD),
        ("FX-2", True, BAD),
    ]


@pytest.mark.parametrize(("serial", "gone"), [("F-7", 0), (" f-7", 0), ("F-8", 1), (None, 1)])
async def test_parts_that_were_taken_out_are_to_be_looked_for(
    serial: str | None, gone: int, fleet: httpx.AsyncClient, administrator: Headers
) -> None:
    """Where a part went is on no record, unless one with its serial number was put in elsewhere."""
    before = (await impact(fleet, administrator))["unknown"]
    await post(
        fleet,
        administrator,
        swap("FX-4", {"hours": 4}, BAD, part={"serial": "F-7"}),
        swap("FX-4", {"hours": 3}, "L9"),
        swap("FX-1", {"hours": 2}, BAD, part={} if serial is None else {"serial": serial}),
    )
    after = (await impact(fleet, administrator))["unknown"]
    counts = [{one["code"]: one["count"] for one in told}.get("part-taken-out", 0) for told in (before, after)]
    assert counts[1] - counts[0] - 1 == gone  # FX-1 lost the part that it had, which has no serial number
