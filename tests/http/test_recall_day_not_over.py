"""What is said of a day alone that is not over: a recall reaches it from the day's beginning, and nothing is let go."""

from datetime import datetime, timedelta
from typing import Any

import httpx
import pytest

from tests.http.about_noon import Where, here, not_known, today, tomorrow
from tests.http.firm import Headers, Message, ago, issued, message, model, post, site
from tests.http.recall_firm import BAD, BATTERY, LOT, closed, fitted, hood, impact, opened, some, stocked, swap, units

__all__ = ["here", "today"]

ORDER = {"by": "p-1001", "remark": "said of today"}
PART = {"item": "pf-170", "lot": BAD, "condition": "new"}


@pytest.fixture
async def firm(http: httpx.AsyncClient, administrator: Headers, here: Where) -> httpx.AsyncClient:
    """Give a client of a firm with a recall since two days, and two units that it does not mean."""
    await post(
        http,
        administrator,
        *(site("harrow-dock", time_zone=here.zone), site("east-yard", time_zone=here.zone), model()),
        *(hood(tag, "L9", occurred_at=ago(days=3)) for tag in ("FX-1", "FX-2")),
        opened({"days": 2}),
    )
    return http


def swapped(today: str, lot: str = BAD, tag: str = "FX-1", **fields: Any) -> Message:
    """Put a filter of a lot into a unit today."""
    new = {"in": PART | {"lot": lot}}
    said = {"asset": tag, "position": "particle-filter", "reason": "schedule", "occurred_on": today}
    return message("filter-replaced", **(said | new | fields))


def named(today: str) -> Message:
    """Say today what sits in a unit."""
    return message("part-identified", asset="FX-1", position="particle-filter", part=PART, occurred_on=today)


def new(today: str, tag: str = "FX-9", lot: str | None = BAD, **fields: Any) -> Message:
    """Register a unit today, with a filter of a lot, or without a word of its parts."""
    parts = [] if lot is None else [{"position": "particle-filter", "part": PART | {"lot": lot}}, BATTERY]
    said = {"model": "northwind-2", "serial": f"NW-{tag}", "site": "harrow-dock", "parts": parts}
    return message("registered", asset=tag, occurred_on=today, **(said | fields))


def mended(today: str) -> Message:
    """Repair a unit today, with a filter of the lot."""
    placed = [{"position": "particle-filter", "part": PART}]
    return message("repaired", asset="FX-1", work=["hose"], parts=placed, occurred_on=today)


def stamped(sitting: Any) -> datetime:
    """Give since when something is there."""
    return datetime.fromisoformat(sitting["since"])


async def test_what_came_in_today_is_asked_for_as_what_is_there(
    firm: httpx.AsyncClient, administrator: Headers, today: str
) -> None:
    """Of several openings those that reach it by then tell what is asked of the unit."""
    other = opened({"days": 2}, action="inspect", due_on="2199-12-31", criteria=[LOT | {"lot": "L7"}])
    await post(firm, administrator, other, swapped(today, "L7", "FX-2"), swapped(today))
    found = units(await impact(firm, administrator))
    assert [found[tag]["action"] for tag in ("FX-1", "FX-2")] == ["stop-use", "inspect"]


@pytest.mark.parametrize("say", [swapped, mended])
async def test_a_part_put_in_today_is_under_the_recall_today(
    firm: httpx.AsyncClient, administrator: Headers, today: str, here: Where, say: Any
) -> None:
    """Since the day began, and not for sure; once the day is over it is known, and since then."""
    await post(firm, administrator, say(today))

    told = await impact(firm, administrator)
    (one,) = told["units"]
    (sitting,) = one["sittings"]
    assert (one["asset"], one["affected"], one["certain"], one["outstanding"]) == ("FX-1", True, False, True)
    assert (sitting["position"], sitting["lot"], sitting["state"]) == ("particle-filter", BAD, "affected")
    assert (stamped(sitting), sitting["until"], sitting["certain"]) == (here.begins, None, False)
    assert some(told["total"]) == {"units": 1, "affected": 1, "outstanding": 1} | (
        {"located": 1} if one["located_at"] else {"silent": 1}
    )
    assert not_known(told)["day-not-over"] == 1
    assert "part-not-named" not in not_known(told)
    over = await impact(firm, administrator, as_at=tomorrow())
    (later,) = over["units"]
    assert (later["certain"], stamped(later["sittings"][0])) == (True, here.begins + timedelta(days=1))
    assert "day-not-over" not in not_known(over)


async def test_a_part_named_today_was_there_all_along(
    firm: httpx.AsyncClient, administrator: Headers, today: str
) -> None:
    """As it will be told once the day is over, but not for sure; who had the unit since counts."""
    await post(firm, administrator, issued("FX-1", occurred_at=ago(days=2), holder={"person": "p-7"}), named(today))

    one, over = [units(await impact(firm, administrator, **at))["FX-1"] for at in ({}, {"as_at": tomorrow()})]
    assert stamped(one["sittings"][0]) == stamped(over["sittings"][0])
    assert (one["certain"], over["certain"]) == (False, True)
    assert [hand["holder"] for hand in one["hands"]] == [{"person": "p-7"}]


async def test_a_part_named_as_it_was_taken_out_is_there_until_the_day_is_over(
    firm: httpx.AsyncClient, administrator: Headers, today: str
) -> None:
    """It turned out to be of the lot: nobody knows yet that it is gone."""
    await post(firm, administrator, swapped(today, "L10", out={"item": "pf-170", "lot": BAD}))

    one, over = [units(await impact(firm, administrator, **at))["FX-1"] for at in ({}, {"as_at": tomorrow()})]
    assert [(sat["state"], sat["lot"], sat["certain"]) for sat in one["sittings"]] == [("affected", BAD, False)]
    assert [sat["state"] for sat in over["sittings"]] == ["removed"]


async def test_what_is_taken_out_today_is_there_beside_what_is_put_in(
    firm: httpx.AsyncClient, administrator: Headers, today: str
) -> None:
    """Both count until the day is over; the one that is known makes the unit certain."""
    await post(firm, administrator, hood("FX-3", BAD, occurred_at=ago(days=3)))
    await post(firm, administrator, swapped(today, tag="FX-3"))

    one = units(await impact(firm, administrator))["FX-3"]
    assert [(sat["state"], sat["certain"]) for sat in one["sittings"]] == [("affected", True), ("affected", False)]
    assert one["certain"]


async def test_a_remedy_of_today_lets_nothing_go_today(
    firm: httpx.AsyncClient, administrator: Headers, today: str
) -> None:
    """Neither what was there nor what comes; a good filter by a day alone does not either."""
    await post(firm, administrator, hood("FX-3", BAD, occurred_at=ago(days=3)))
    fixed = message("recall-actioned", asset="FX-3", recall="rc-1", result="fixed", occurred_on=today)
    await post(firm, administrator, swapped(today, "L10", "FX-3"), fixed)

    assert units(await impact(firm, administrator))["FX-3"]["affected"]
    assert not units(await impact(firm, administrator, as_at=tomorrow()))["FX-3"]["affected"]


@pytest.mark.parametrize(("first", "last", "state"), [("L10", BAD, "affected"), (BAD, "L10", "removed")])
async def test_of_two_filters_of_one_day_both_count_until_it_is_over(
    firm: httpx.AsyncClient, administrator: Headers, today: str, first: str, last: str, state: str
) -> None:
    """Then the last is there, by the counter of its sender; who wore the unit that day may have worn the other."""
    sent = {"device": "kiosk-3", "site": "harrow-dock"}
    swaps = [swapped(today, lot, device_seq=nth, **sent) for nth, lot in enumerate((first, last))]
    worn = message("worn", asset="FX-1", wearer="p-7", occurred_on=today)
    await post(firm, administrator, *swaps, worn)

    now, over = [units(await impact(firm, administrator, **at))["FX-1"] for at in ({}, {"as_at": tomorrow()})]
    assert [(sat["state"], sat["lot"]) for told in (now, over) for sat in told["sittings"]] == [
        ("affected", BAD),
        (state, BAD),
    ]
    assert [(one["person"], one["seconds"]) for one in over["wearers"]] == [("p-7", 0)]


async def test_a_part_named_and_dealt_with_today_is_under_the_recall_today(
    firm: httpx.AsyncClient, administrator: Headers, today: str
) -> None:
    """The remedy counts once the day is over."""
    fixed = message("recall-actioned", asset="FX-1", recall="rc-1", result="fixed", occurred_on=today)
    await post(firm, administrator, named(today), fixed)

    one, over = [units(await impact(firm, administrator, **at))["FX-1"] for at in ({}, {"as_at": tomorrow()})]
    assert [sat["state"] for told in (one, over) for sat in told["sittings"]] == ["affected", "cleared"]


async def test_who_has_it_today_is_named_for_no_second(
    firm: httpx.AsyncClient, administrator: Headers, today: str, here: Where
) -> None:
    """The part may have been there; how long is not counted before the day is over."""
    began = (here.begins + timedelta(minutes=1)).isoformat()
    await post(firm, administrator, issued("FX-1", occurred_at=began, holder={"person": "p-7"}), swapped(today))

    one = units(await impact(firm, administrator))["FX-1"]
    assert [(hand["holder"], hand["seconds"]) for hand in one["hands"]] == [({"person": "p-7"}, 0)]


async def test_who_is_said_to_have_or_wear_it_today_is_named_for_no_second(
    firm: httpx.AsyncClient, administrator: Headers, today: str, here: Where
) -> None:
    """Since the day began, each of them; once the day is over the last of them has it."""
    await post(firm, administrator, hood("FX-3", BAD, occurred_at=ago(days=3)))
    said: list[dict[str, Any]] = [
        {"kind": "issued", "holder": {"person": "p-7"}},
        {"kind": "issued", "holder": {"person": "p-8"}},
        {"kind": "worn", "wearer": "p-9"},
    ]
    sent = {"asset": "FX-3", "occurred_on": today, "device": "kiosk-3", "site": "harrow-dock"}
    await post(
        firm,
        administrator,
        *(message(one.pop("kind"), **sent, **one, device_seq=nth) for nth, one in enumerate(said)),
    )

    one, over = [units(await impact(firm, administrator, **at))["FX-3"] for at in ({}, {"as_at": tomorrow()})]
    assert [(hand["holder"]["person"], stamped(hand), hand["until"], hand["seconds"]) for hand in one["hands"]] == [
        ("p-7", here.begins, None, 0),
        ("p-8", here.begins, None, 0),
    ]
    assert [(who["person"], who["times"], who["seconds"]) for who in one["wearers"]] == [("p-9", 1, 0)]
    assert [(hand["holder"]["person"], hand["until"] is None) for hand in over["hands"]] == [
        ("p-7", False),
        ("p-8", True),
    ]
    assert [who["person"] for who in over["wearers"]] == ["p-9"]


async def test_a_campaign_orders_it_out_of_use(firm: httpx.AsyncClient, administrator: Headers, today: str) -> None:
    """Its standing follows the order: by the fact alone it is as it was until the day is over."""
    await post(firm, administrator, swapped(today))
    before = (await firm.get("/v1/assets/FX-1", headers=administrator)).json()
    answered = await firm.post("/v1/recalls/rc-1/quarantine", json=ORDER, headers=administrator)
    after = (await firm.get("/v1/assets/FX-1", headers=administrator)).json()
    again = await firm.post("/v1/recalls/rc-1/quarantine", json=ORDER, headers=administrator)

    assert (before["phase"], "recall" in before["reasons"]) == ("in-store", False)
    assert (answered.json()["quarantined"], answered.json()["done"]) == (1, True)
    assert (after["phase"], after["do_not_use"]) == ("quarantined", True)
    assert (again.json()["quarantined"], again.json()["already"]) == (0, 1)
    over = units(await impact(firm, administrator, as_at=tomorrow()))["FX-1"]
    assert over["stopped_at"] is not None


async def test_what_another_model_lists_may_sit_there_today(
    firm: httpx.AsyncClient, administrator: Headers, today: str
) -> None:
    """Registered again today as that: whoever is told of the unit can order it out of use."""
    positions = [{"position": "hose", "role": "tube", "required": True, "items": ["ho-9"]}]
    again = message("registered", asset="FX-1", occurred_on=today, model="other", serial="NW-FX-1", site="harrow-dock")
    named = opened({"hours": 1}, recall="rc-2", criteria=[{"item": "ho-9", "lots": ["H1"]}])
    await post(firm, administrator, model(model="other", maker="northwind-2", positions=positions), again, named)

    one = units(await impact(firm, administrator, recall="rc-2"))["FX-1"]
    assert [(sat["position"], sat["state"], sat["certain"]) for sat in one["sittings"]] == [("hose", "affected", False)]
    answered = await firm.post("/v1/recalls/rc-2/quarantine", json=ORDER, headers=administrator)
    assert answered.json()["quarantined"] == 1


async def test_closing_needs_a_reason_for_it(firm: httpx.AsyncClient, administrator: Headers, today: str) -> None:
    """Without one the campaign goes on."""
    await post(firm, administrator, swapped(today))
    (left,) = await post(firm, administrator, closed(seconds=1))
    (ended,) = await post(firm, administrator, closed("FX-1", seconds=0))

    assert [(one["code"], one["assets"]) for one in left["conflicts"]] == [("units-outstanding", ["FX-1"])]
    assert ended["conflicts"] == []


@pytest.mark.parametrize(("hours", "holds"), [(0, True), (13, True), (-0.001, False)])
async def test_a_reason_given_on_the_day_holds_once_it_is_over(
    firm: httpx.AsyncClient, administrator: Headers, here: Where, hours: float, *, holds: bool
) -> None:
    """It was given for what came in on the day; one given before, for another piece of the lot, was not."""
    yesterday = here.begins - timedelta(days=1)
    said = closed("FX-3") | {"occurred_at": (yesterday + timedelta(hours=hours)).isoformat()}
    await post(firm, administrator, hood("FX-3", BAD, occurred_at=ago(days=3)), said)
    await post(firm, administrator, swapped((here.day - timedelta(days=1)).isoformat(), tag="FX-3"))

    one = units(await impact(firm, administrator))["FX-3"]
    (ended,) = await post(firm, administrator, closed(seconds=0))
    assert [(sat["state"], stamped(sat)) for sat in one["sittings"]][1:] == [("affected", here.begins)]
    assert one["reason"] == ("in a container at sea" if holds else None)
    assert [conflict["assets"] for conflict in ended["conflicts"]] == ([] if holds else [["FX-3"]])


async def test_a_reason_of_today_is_of_what_there_was_as_it_was_received(
    firm: httpx.AsyncClient, administrator: Headers, today: str, here: Where
) -> None:
    """A piece of the lot that comes later that day has none, though the recall is closed by the day's end alone."""
    began = {"occurred_at": here.begins.isoformat()}
    await post(firm, administrator, hood("FX-3", BAD, **began), hood("FX-4", BAD, **began))
    by_day = {"occurred_at": None, "occurred_on": today, "site": "harrow-dock"}
    (ended,) = await post(firm, administrator, closed("FX-3", "FX-4") | by_day)
    before = units(await impact(firm, administrator, as_at=tomorrow()))
    await post(firm, administrator, swap("FX-3", {"seconds": 0}, BAD))
    told = units(await impact(firm, administrator, as_at=tomorrow()))
    listed = (await firm.get("/v1/recalls", headers=administrator, params={"as_at": tomorrow()})).json()["recalls"]
    (again,) = await post(firm, administrator, closed() | by_day)

    assert ended["conflicts"] == []
    assert [before[tag]["reason"] for tag in ("FX-3", "FX-4")] == ["in a container at sea"] * 2
    assert [told[tag]["reason"] for tag in ("FX-3", "FX-4")] == [None, "in a container at sea"]
    assert stamped({"since": listed[0]["closed_at"]}) == here.begins + timedelta(days=1)
    assert [conflict["assets"] for conflict in again["conflicts"]] == [["FX-3"]]


async def test_who_put_it_in_today_has_found_it_once_the_day_is_over(
    firm: httpx.AsyncClient, administrator: Headers, today: str, here: Where
) -> None:
    """Since it counts as put in; what was done with the unit before the day says nothing of it."""
    await post(firm, administrator, issued("FX-1", occurred_at=ago(days=1, hours=20)), swapped(today))

    told, over = [await impact(firm, administrator, **at) for at in ({}, {"as_at": tomorrow()})]
    found = [datetime.fromisoformat(units(one)["FX-1"]["located_at"]) for one in (told, over)]
    assert found == [here.begins, here.begins + timedelta(days=1)]
    assert [(one["total"]["located"], one["total"]["silent"]) for one in (told, over)] == [(1, 0), (1, 0)]


async def test_a_preview_has_it_too(firm: httpx.AsyncClient, administrator: Headers, today: str) -> None:
    """A recall that would be opened now would speak of it."""
    await post(firm, administrator, swapped(today))
    asked = {"action": "stop-use", "criteria": [LOT]}
    told = (await firm.post("/v1/recalls/preview", json=asked, headers=administrator)).json()
    assert list(units(told)) == ["FX-1"]


async def test_units_registered_today_are_counted_until_they_are_units(
    firm: httpx.AsyncClient, administrator: Headers, today: str
) -> None:
    """With what sits in them, what is put in today, and what nobody said of them; at their sites."""
    changed = [new(today, "FX-8", "L9"), swapped(today, tag="FX-8")]
    others = [new(today, "FX-7", None), new(today, "FX-6", "L9"), new(today, "YD-9", site="east-yard")]
    await post(firm, administrator, new(today), *others, *changed)

    told = await impact(firm, administrator)
    assert (units(told), not_known(told)) == ({}, {"not-registered-yet": 4})
    assert not_known(await impact(firm, administrator, site="east-yard")) == {"not-registered-yet": 1}
    assert sorted(one["site"] for one in told["sites"]) == ["east-yard", "harrow-dock"]
    over = await impact(firm, administrator, as_at=tomorrow())
    assert sorted(units(over)) == ["FX-7", "FX-8", "FX-9", "YD-9"]
    assert "not-registered-yet" not in not_known(over)


async def test_a_unit_registered_today_is_ordered_out_of_use_before_it_is_one(
    firm: httpx.AsyncClient, administrator: Headers, today: str
) -> None:
    """Once, and held as soon as the day is over; until it is dealt with a closing needs a reason for it."""
    await post(firm, administrator, new(today))
    (left,) = await post(firm, administrator, closed(seconds=1))
    answers = [
        (await firm.post("/v1/recalls/rc-1/quarantine", json=ORDER, headers=administrator)).json() for _ in range(2)
    ]
    (ended,) = await post(firm, administrator, closed("FX-9", seconds=0))
    over = (await firm.get("/v1/assets/FX-9", params={"as_at": tomorrow()}, headers=administrator)).json()

    assert [(one["code"], one["assets"]) for one in left["conflicts"]] == [("units-outstanding", ["FX-9"])]
    assert [(one["quarantined"], one["already"], one["skipped"]) for one in answers] == [(1, 0, []), (0, 1, [])]
    assert (ended["conflicts"], over["phase"], over["do_not_use"]) == ([], "quarantined", True)
    told = units(await impact(firm, administrator, as_at=tomorrow()))["FX-9"]
    assert told["stopped_at"] is not None


async def test_stock_of_today_is_listed(firm: httpx.AsyncClient, administrator: Headers, today: str) -> None:
    """What came or was counted beyond what there was, by itself and not for sure; what was taken is there still."""
    await post(firm, administrator, stocked(8.0), stocked(4.0, where="east-yard"))
    said = {"item": "pf-170", "unit": "each", "lot": BAD, "occurred_on": today}
    await post(
        firm,
        administrator,
        message("stock-received", site="harrow-dock", quantity=3.0, **said),
        message("stock-discarded", site="harrow-dock", quantity=8.0, reason="damage", **said),
        message("stock-counted", site="east-yard", quantity=6.0, **said),
        message("stock-moved", site="east-yard", to_site="harrow-dock", quantity=2.0, **said),
    )
    told = await impact(firm, administrator)
    assert [(one["site"], one["quantity"], one["certain"]) for one in told["stock"]] == [
        ("east-yard", 4.0, True),
        ("east-yard", 2.0, False),
        ("harrow-dock", 8.0, True),
        ("harrow-dock", 5.0, False),
    ]
    assert not_known(told) == {"day-not-over": 2}
    over = await impact(firm, administrator, as_at=tomorrow())
    assert {one["site"]: one["quantity"] for one in over["stock"]} == {"east-yard": 6.0, "harrow-dock": 5.0}


async def test_stock_counted_down_today_is_there_until_the_day_is_over(
    firm: httpx.AsyncClient, administrator: Headers, today: str
) -> None:
    """A count that finds less lets nothing go, and adds nothing."""
    said = {"site": "harrow-dock", "item": "pf-170", "lot": BAD, "quantity": 2.0, "unit": "each", "occurred_on": today}
    await post(firm, administrator, stocked(8.0), message("stock-counted", **said))
    told = await impact(firm, administrator)
    assert [(one["quantity"], one["certain"]) for one in told["stock"]] == [(8.0, True)]


async def test_a_day_of_the_past_is_told_as_it_was_then(
    firm: httpx.AsyncClient, administrator: Headers, here: Where
) -> None:
    """At noon of a day, what was said of that alone was under the recall; the moment before it began it was not."""
    day = here.begins - timedelta(days=1)
    await post(firm, administrator, swapped((here.day - timedelta(days=1)).isoformat()))
    noon = (day + timedelta(hours=12)).isoformat()
    before = (day - timedelta(microseconds=1)).isoformat()
    after = (day + timedelta(days=1)).isoformat()

    asked = [await impact(firm, administrator, as_at=at) for at in (before, noon, after)]
    assert [[(one["affected"], one["certain"]) for one in told["units"]] for told in asked] == [
        [],
        [(True, False)],
        [(True, True)],
    ]
    known = asked[0]["known_at"]
    await post(firm, administrator, fitted("FX-1", "L10"))
    again = await impact(firm, administrator, as_at=noon, known_at=known)
    assert again["units"] == asked[1]["units"]
