"""Which units and pieces a recall means: named late, taken out, moved on, registered again, known by their numbers."""

from datetime import UTC, datetime
from typing import Any

import httpx
import pytest

from tests.http.firm import Headers, ago, issued, message, model, post, registered, site
from tests.http.keys import Keys
from tests.http.recall_firm import BAD, LOT, fleet, hood, impact, opened, swap, units

__all__ = ["fleet"]


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


async def test_a_unit_registered_again_with_another_day_may_still_be_of_the_one_before(
    http: httpx.AsyncClient, administrator: Headers
) -> None:
    """Which day is wrong nobody says: it stays under the recall, and is found as any model that it was (design 4).

    One that states no day says nothing against the day that is known.
    """
    march = {"made_from": "2026-03-01", "made_to": "2026-03-31"}
    twice = {"serial": "NW-2", "made_on": "2025-01-01", "occurred_at": ago(hours=15)}
    await post(
        http,
        administrator,
        *(site("harrow-dock"), model(maker="northwind"), model(model="northwind-3", maker="northwind")),
        hood("FX-1", BAD, serial="NW-1", made_on="2026-03-31", acquired_on="2026-05-01"),
        hood("FX-2", BAD, serial="NW-2", made_on="2026-03-01"),
        hood("FX-3", BAD, serial="NW-3", made_on="2026-02-28"),
        opened({"hours": 20}, criteria=[{"model": "northwind-2", **march}]),
        hood("FX-4", BAD, serial="NW-1", occurred_at=ago(hours=15)),
        hood("FX-5", BAD, **twice),
        hood("FX-6", BAD, serial="NW-3", model="northwind-3", made_on="2026-03-02", occurred_at=ago(hours=15)),
        opened({"hours": 2}, "rc-2", criteria=[{"model": "northwind-2", **march}]),
    )
    now = datetime.now(UTC).isoformat()
    for recall in ("rc-1", "rc-2"):
        for moments in ({}, {"as_at": now, "known_at": now}):
            told = await impact(http, administrator, recall, **moments)
            certain = {tag: one["certain"] for tag, one in units(told).items() if one["affected"]}
            assert certain == {"FX-4": True, "FX-5": False, "FX-6": False}
            assert {one["code"]: one["count"] for one in told["unknown"]}["unit-not-dated"] == 2
    for tag in ("FX-4", "FX-5", "FX-6"):
        assert "recall" in (await http.get(f"/v1/assets/{tag}", headers=administrator)).json()["reasons"]
    told = (await http.post("/v1/recalls/rc-2/quarantine", json={"by": "p-1"}, headers=administrator)).json()
    assert told["quarantined"] == 3


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


@pytest.mark.parametrize(
    ("serial", "lot", "gone"),
    [("F-7", BAD, 0), (" f-7", BAD, 0), ("F-7", None, 0), ("F-8", BAD, 1), (None, BAD, 1), ("F-7", "L9", 1)],
)
async def test_parts_that_were_taken_out_are_to_be_looked_for(
    serial: str | None, lot: str | None, gone: int, fleet: httpx.AsyncClient, administrator: Headers
) -> None:
    """Where a part went is on no record, unless one with its serial number was put in elsewhere, of no other lot."""
    before = (await impact(fleet, administrator))["unknown"]
    await post(
        fleet,
        administrator,
        swap("FX-4", {"hours": 4}, BAD, part={"serial": "F-7"}),
        swap("FX-4", {"hours": 3}, "L9"),
        swap("FX-1", {"hours": 2}, lot, part={} if serial is None else {"serial": serial}),
    )
    after = (await impact(fleet, administrator))["unknown"]
    counts = [{one["code"]: one["count"] for one in told}.get("part-taken-out", 0) for told in (before, after)]
    assert counts[1] - counts[0] - 1 == gone  # FX-1 lost the part that it had, which has no serial number


async def test_a_part_is_not_found_by_a_unit_of_its_serial_number(
    fleet: httpx.AsyncClient, administrator: Headers
) -> None:
    """That is another thing; a component of the number is the part itself."""
    out = [swap("FX-4", {"hours": 4}, BAD, part={"serial": "NW-FX-1"}), swap("FX-4", {"hours": 3}, "L9")]
    fitted_in = {"model": "other", "serial": "nw-fx-1", "fitted_to": "FX-2"}
    component = [model(model="other", maker="Elsewhere"), registered("BT-1", parts=[], **fitted_in)]
    told = [(await impact(fleet, administrator))["unknown"]]
    for more in (out, component):
        await post(fleet, administrator, *more)
        told.append((await impact(fleet, administrator))["unknown"])
    first, *counts = [{one["code"]: one["count"] for one in each}.get("part-taken-out", 0) for each in told]
    assert [count - first for count in counts] == [1, 0]
