"""What is told of recalls: which there are, and what each has done to units, people and stock."""

import csv
import io
from datetime import UTC, datetime
from typing import Any

import httpx
import pytest

from tests.http.doors import FOREIGN
from tests.http.firm import ago, issued, message, registered
from tests.http.keys import Keys
from tests.http.recall_firm import (
    BAD,
    Headers,
    closed,
    hood,
    impact,
    opened,
    post,
    some,
    stocked,
    stopped,
    swap,
    the_fleet,
    units,
)


@pytest.fixture
async def fleet(http: httpx.AsyncClient, administrator: Headers) -> httpx.AsyncClient:
    """Give a client of a firm that opened a recall two hours ago."""
    await post(http, administrator, *the_fleet(), opened({"hours": 2}, notice="cracked housings"))
    return http


async def test_recalls_are_listed_as_they_were_opened_and_closed(
    fleet: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """Each is told with its criteria, its notice and its moments; one that was opened later than asked is not there."""
    void = opened({"hours": 1}, "rc-0", action="inspect", due_on="2199-12-31")
    await post(fleet, administrator, void, opened({"minutes": 5}, "rc-2", rehearsal=True))
    await post(
        fleet,
        await keys.make("manager"),
        message("voided", event=void["id"], reason="wrong lot", by="p-2", occurred_at=ago(minutes=30)),
        closed("FX-1", "FX-3", "YD-1", minutes=20),
    )
    answered = await fleet.get("/v1/recalls", headers=administrator, params={"as_at": ago(minutes=10)})
    told = answered.json()["recalls"]

    assert [(one["recall"], one["action"], one["due_on"], one["notice"]) for one in told] == [
        ("rc-0", "inspect", "2199-12-31", None),
        ("rc-1", "stop-use", None, "cracked housings"),
    ]
    assert [(one["closed_at"] is None, one["voided_at"] is None, one["rehearsal"]) for one in told] == [
        (True, False, False),
        (False, True, False),
    ]
    assert told[1]["criteria"] == [{"item": "pf-170", "lot": BAD}]
    earlier = await fleet.get("/v1/recalls", headers=administrator, params={"as_at": ago(minutes=40)})
    assert [one["voided_at"] for one in earlier.json()["recalls"]] == [None, None]


async def test_the_list_goes_on_page_by_page_and_as_a_table(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """One recall a page leads to the next; as a table a notice that looks like a formula is none."""
    await post(fleet, administrator, opened({"hours": 1}, "rc-2", notice="=HYPERLINK(1)"))
    first = await fleet.get("/v1/recalls", headers=administrator, params={"limit": "1"})
    second = await fleet.get("/v1/recalls", headers=administrator, params={"limit": "1", "after": first.json()["next"]})
    table = await fleet.get("/v1/recalls", headers=administrator | {"accept": "text/csv"})

    assert [one["recall"] for one in (*first.json()["recalls"], *second.json()["recalls"])] == ["rc-1", "rc-2"]
    assert second.json()["next"] is None
    rows = list(csv.DictReader(io.StringIO(table.text.removeprefix("\ufeff"))))
    assert [(row["recall"], row["notice"]) for row in rows] == [
        ("rc-1", "cracked housings"),
        ("rc-2", "'=HYPERLINK(1)"),
    ]


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


async def test_ordered_is_not_put_away(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """From a desk a unit is stopped; with a place it is put away, until it is freed again."""
    await post(fleet, administrator, stopped("FX-1", {"minutes": 50}))
    ordered = units(await impact(fleet, administrator))["FX-1"]
    await post(fleet, administrator, stopped("FX-1", {"minutes": 40}, place="cage-1"))
    away = await impact(fleet, administrator)

    assert (ordered["stopped_at"] is None, ordered["located_at"], ordered["put_away_at"]) == (False, None, None)
    found = units(away)["FX-1"]
    assert found["located_at"] == found["put_away_at"] > found["stopped_at"]
    assert some(away["total"]) == {
        "units": 4,
        "affected": 3,
        "certain": 2,
        "once": 1,
        "located": 1,
        "stopped": 1,
        "put_away": 1,
        "outstanding": 3,
        "silent": 2,
    }
    fixed = message("recall-actioned", asset="FX-1", recall="rc-1", result="fixed", occurred_at=ago(minutes=30))
    freed = message("released", asset="FX-1", occurred_at=ago(minutes=20))
    await post(fleet, administrator, message("trained", person="p-3071", competences=["release"], by="p-2"))
    await post(fleet, administrator, fixed, freed)
    told = await impact(fleet, administrator)
    assert (units(told)["FX-1"]["phase"], units(told)["FX-1"]["put_away_at"]) == ("in-store", None)
    assert units(told)["FX-1"]["located_at"] == found["located_at"]
    assert (told["total"]["put_away"], told["total"]["remedied"], told["total"]["outstanding"]) == (0, 1, 2)
    last = [day for day in told["progress"] if day["site"] == "harrow-dock"][-1]
    assert (last["located"], last["stopped"], last["put_away"], last["remedied"], last["outstanding"]) == (
        1,
        1,
        0,
        1,
        1,
    )


async def test_missing_retired_and_silent_units_are_told_apart(
    fleet: httpx.AsyncClient, administrator: Headers
) -> None:
    """One is missing, one retired, one was returned since; only the first is still silent."""
    await post(
        fleet,
        administrator,
        message("returned", asset="FX-1", occurred_at=ago(minutes=50)),
        message("missing", asset="FX-3", occurred_at=ago(minutes=45)),
        message("retired", asset="YD-1", reason="worn-out", occurred_at=ago(minutes=40)),
    )
    told = await impact(fleet, administrator)

    assert some(told["total"]) == {
        "units": 4,
        "affected": 3,
        "certain": 2,
        "once": 1,
        "located": 1,
        "outstanding": 2,
        "missing": 1,
        "retired": 1,
        "silent": 1,
    }
    assert units(told)["YD-1"]["outstanding"] is False
    assert [day["outstanding"] for day in told["progress"] if day["site"] == "east-yard"][-1] == 0


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


async def test_a_recall_not_yet_opened_or_known_is_none(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """Before its opening, before it was recorded, and under another name there is none."""
    asked: list[tuple[str, dict[str, str]]] = [
        ("rc-1", {"as_at": ago(hours=3)}),
        ("rc-1", {"known_at": ago(hours=1)}),
        ("rc-404", {}),
    ]
    for recall, moments in asked:
        for door in ("impact", "notice"):
            answered = await fleet.get(f"/v1/recalls/{recall}/{door}", headers=administrator, params=moments)
            assert (answered.status_code, answered.json()["type"]) == (404, "/problems/not-found")


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


@pytest.mark.parametrize("door", ["", "/rc-1/impact", "/rc-1/notice"])
async def test_roles_that_read_no_summary_are_refused(fleet: httpx.AsyncClient, keys: Keys, door: str) -> None:
    """Site apps and integrators are refused; another firm's key finds no such recall."""
    for role in ("site-app", "integrator"):
        key = await keys.make(role)
        answered = await fleet.get(f"/v1/recalls{door}", headers=key)
        assert (answered.status_code, answered.json()["type"]) == (403, "/problems/forbidden")
    theirs = await fleet.get(f"/v1/recalls{door}", headers=await keys.make("administrator", organisation=FOREIGN))
    assert (theirs.status_code, theirs.json().get("recalls")) == ((404, None) if door else (200, []))


async def test_records_without_names_name_nobody(fleet: httpx.AsyncClient, keys: Keys) -> None:
    """A worker representative reads that somebody had and wore a unit, not who, and no free text."""
    told = await impact(fleet, await keys.make("worker-representative"))
    unit: Any = units(told)["FX-1"]

    assert [hand["holder"] for hand in unit["hands"]] == [{"person": "withheld"}]
    assert [one["person"] for one in unit["wearers"]] == ["withheld", "withheld"]
    assert told["recall"]["notice"] is None


async def test_opened_in_earnest_a_rehearsal_asks_nothing_more(
    fleet: httpx.AsyncClient, administrator: Headers
) -> None:
    """Of a recall that was rehearsed under the same name only the opening in earnest counts."""
    await post(
        fleet,
        administrator,
        opened({"minutes": 50}, "rc-3", rehearsal=True, criteria=[{"item": "bat-64"}]),
        opened({"minutes": 40}, "rc-3", criteria=[{"item": "pf-170", "lot": "L9"}]),
    )
    told = await impact(fleet, administrator, "rc-3")

    assert (told["recall"]["rehearsal"], told["rehearsal"]) == (False, None)
    assert told["recall"]["criteria"] == [{"item": "pf-170", "lot": "L9"}]
    assert list(units(told)) == ["FX-2", "FX-3", "FX-4"]


async def test_a_voided_recall_keeps_what_it_reached(
    fleet: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """Voided, it is told so, and what had the lot by then stays under it; what comes in later does not."""
    events = (await fleet.get("/v1/events", headers=administrator)).json()["events"]
    (one,) = (event["id"] for event in events if event["kind"] == "recall-opened")
    void = message("voided", event=one, reason="wrong lot", by="p-2", occurred_at=ago(minutes=50))
    await post(fleet, await keys.make("manager"), void)
    await post(fleet, administrator, swap("FX-4", {"minutes": 40}, BAD))
    told = await impact(fleet, administrator)

    assert told["recall"]["voided_at"] is not None
    assert [(tag, found["affected"]) for tag, found in units(told).items()] == [
        ("FX-1", True),
        ("FX-2", False),
        ("FX-3", True),
        ("FX-4", False),
        ("YD-1", True),
    ]


async def test_of_several_openings_the_strictest_that_stands_is_told(
    fleet: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """Opened again to inspect another lot, it asks to stop; with that taken back, the other lot is not named."""
    again = opened({"hours": 1}, action="inspect", due_on="2199-12-24", criteria=[{"item": "pf-170", "lot": "L9"}])
    await post(fleet, administrator, again)

    async def told() -> list[tuple[str, None, int]]:
        listed = await fleet.get("/v1/recalls", headers=administrator)
        every = [*listed.json()["recalls"], (await impact(fleet, administrator))["recall"]]
        return [(one["action"], one["due_on"], len(one["criteria"])) for one in every]

    assert await told() == [("stop-use", None, 2)] * 2
    void = message("voided", event=again["id"], reason="wrong lot", by="p-2", occurred_at=ago(minutes=10))
    await post(fleet, await keys.make("manager"), void)
    assert await told() == [("stop-use", None, 1)] * 2
    page = await fleet.get("/v1/recalls/rc-1/notice", headers=administrator)
    assert "Stop using these units at once" in page.text
    assert "inspect" not in page.text


async def test_a_component_is_told_with_the_unit_that_it_is_fitted_in(
    fleet: httpx.AsyncClient, administrator: Headers
) -> None:
    """Ordered out of use a battery is put away only with its unit; who has and wore the unit has and wore it."""
    await post(
        fleet,
        administrator,
        registered("BT-1", fitted_to="FX-1", parts=[], occurred_at=ago(hours=29)),
        opened({"hours": 1}, "rc-b", criteria=[{"serials": ["NW-BT-1"]}]),
        stopped("BT-1", {"minutes": 50}, "rc-b"),
    )
    ordered = await impact(fleet, administrator, "rc-b")
    await post(fleet, administrator, stopped("FX-1", {"minutes": 40}, "rc-b", place="cage-1"))
    away = await impact(fleet, administrator, "rc-b")
    (before,), (after,) = ordered["units"], away["units"]

    assert (before["asset"], before["host"], before["phase"]) == ("BT-1", "FX-1", "quarantined")
    assert [hand["holder"] for hand in before["hands"]] == [{"person": "p-3071"}]
    assert [(one["person"], one["seconds"]) for one in before["wearers"]] == [("p-3071", 3600), ("p-9", 0)]
    assert (before["located_at"], before["put_away_at"], ordered["total"]["put_away"]) == (None, None, 0)
    assert after["put_away_at"] == after["located_at"] > before["stopped_at"]


async def test_a_component_may_be_put_away_by_itself(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """Quarantined with a place of its own, or once it was taken out, it is in nobody's hands."""
    taken_out = {"position": "battery", "out": {"item": "bat-64", "serial": "NW-BT-2"}, "reason": "recall"}
    await post(
        fleet,
        administrator,
        *(registered(tag, fitted_to="FX-1", parts=[], occurred_at=ago(hours=29)) for tag in ("BT-1", "BT-2")),
        opened({"hours": 1}, "rc-b", criteria=[{"serials": ["NW-BT-1", "NW-BT-2"]}]),
        stopped("BT-1", {"minutes": 50}, "rc-b", place="cage-1"),
        stopped("BT-2", {"minutes": 50}, "rc-b"),
        message("part-replaced", asset="FX-1", occurred_at=ago(minutes=40), **taken_out),
    )
    found = units(await impact(fleet, administrator, "rc-b"))

    assert (found["BT-1"]["host"], found["BT-1"]["put_away_at"]) == ("FX-1", found["BT-1"]["stopped_at"])
    assert (found["BT-2"]["host"], found["BT-2"]["put_away_at"]) == (None, found["BT-2"]["stopped_at"])
    assert found["BT-2"]["hands"][0]["until"] is not None


async def test_what_is_taken_back_locates_nobody(fleet: httpx.AsyncClient, administrator: Headers, keys: Keys) -> None:
    """A return that was voided never happened: the unit is silent again, and in its holder's hands."""
    back = message("returned", asset="FX-1", occurred_at=ago(minutes=50))
    await post(fleet, administrator, back)
    located = units(await impact(fleet, administrator))["FX-1"]["located_at"]
    await post(fleet, await keys.make("manager"), message("voided", event=back["id"], reason="another", by="p-2"))

    assert (located is None, units(await impact(fleet, administrator))["FX-1"]["located_at"]) == (False, None)


async def test_issued_again_it_is_put_away_no_more(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """Withdrawn in store a unit is put away at once; in somebody's hand it is not, and progress falls."""
    await post(fleet, administrator, stopped("YD-1", {"minutes": 50}))
    away = await impact(fleet, administrator)
    await post(fleet, administrator, issued("YD-1", occurred_at=ago(minutes=40), holder={"person": "p-oops"}))
    told = await impact(fleet, administrator)

    assert (units(away)["YD-1"]["put_away_at"], away["total"]["put_away"]) == (units(away)["YD-1"]["stopped_at"], 1)
    assert (units(told)["YD-1"]["put_away_at"], told["total"]["put_away"]) == (None, 0)
    assert [day["put_away"] for day in told["progress"] if day["site"] == "east-yard"][-1] == 0


async def test_what_was_done_about_one_piece_speaks_for_no_other(
    fleet: httpx.AsyncClient, administrator: Headers
) -> None:
    """Put away, remedied by another filter and released, then fitted with the lot in hand: that is another matter."""
    await post(fleet, administrator, message("trained", person="p-3071", competences=["release"], by="p-2"))
    await post(
        fleet,
        administrator,
        stopped("FX-1", {"minutes": 55}, place="cage-1"),
        swap("FX-1", {"minutes": 50}, "L9"),
        message("recall-actioned", asset="FX-1", recall="rc-1", result="fixed", occurred_at=ago(minutes=45)),
        message("released", asset="FX-1", occurred_at=ago(minutes=40)),
        issued("FX-1", occurred_at=ago(minutes=35)),
    )
    remedied = await impact(fleet, administrator)
    await post(fleet, administrator, swap("FX-1", {"minutes": 30}, BAD))
    told = await impact(fleet, administrator)
    unit = units(told)["FX-1"]

    assert units(remedied)["FX-1"]["stopped_at"] is not None
    assert (unit["affected"], unit["outstanding"], unit["remedied_at"]) == (True, True, None)
    assert (unit["stopped_at"], unit["put_away_at"]) == (None, None)
    assert unit["located_at"] == next(one for one in unit["sittings"] if one["state"] == "affected")["since"]
    days = [[one for one in each["progress"] if one["site"] == "harrow-dock"][-1] for each in (remedied, told)]
    assert [(day["stopped"], day["remedied"], day["outstanding"]) for day in days] == [(1, 1, 1), (0, 0, 2)]


async def test_under_a_new_tag_what_was_done_stays_done(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """Stopped and put away as FX-1, then retagged: it is located and stopped as it was."""
    await post(fleet, administrator, stopped("FX-1", {"minutes": 50}, place="cage-1"))
    before = units(await impact(fleet, administrator))["FX-1"]
    await post(fleet, administrator, message("retagged", asset="FX-1", new_tag="FX-9", occurred_at=ago(minutes=40)))
    after = units(await impact(fleet, administrator))["FX-9"]

    steps = ("located_at", "stopped_at", "put_away_at")
    assert [after[step] for step in steps] == [before[step] for step in steps]
    assert None not in [after[step] for step in steps]


async def test_what_was_done_with_another_unit_of_its_tag_was_not_done_with_it(
    fleet: httpx.AsyncClient, administrator: Headers
) -> None:
    """FX-4 was put away, and its tag given to the unit with the lot: that one was neither located nor stopped."""
    await post(
        fleet,
        administrator,
        stopped("FX-4", {"minutes": 50}, place="cage-1"),
        message("retagged", asset="FX-4", new_tag="OLD-4", occurred_at=ago(minutes=40)),
        message("retagged", asset="FX-1", new_tag="FX-4", occurred_at=ago(minutes=30)),
    )
    found = units(await impact(fleet, administrator))["FX-4"]

    assert (found["affected"], found["located_at"], found["stopped_at"]) == (True, None, None)


async def test_a_voiding_that_is_voided_restores_what_it_took_back(
    fleet: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """The return counts again once its voiding is taken back itself."""
    back = message("returned", asset="FX-1", occurred_at=ago(minutes=50))
    void = message("voided", event=back["id"], reason="another", by="p-2")
    await post(fleet, administrator, back)
    located = units(await impact(fleet, administrator))["FX-1"]["located_at"]
    await post(fleet, await keys.make("manager"), void, message("voided", event=void["id"], reason="mine", by="p-2"))

    assert units(await impact(fleet, administrator))["FX-1"]["located_at"] == located is not None


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
