"""What was done about a recall: which units were located, stopped, put away and remedied, and which are silent."""

import httpx

from tests.http.firm import Headers, ago, issued, message, model, post, registered, site
from tests.http.keys import Keys
from tests.http.recall_firm import BAD, fleet, hood, impact, opened, some, stopped, swap, units

__all__ = ["fleet"]

TWO = ("FX-1", "FX-2")


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
        "people": 2,
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
        "people": 2,
    }
    assert units(told)["YD-1"]["outstanding"] is False
    assert [day["outstanding"] for day in told["progress"] if day["site"] == "east-yard"][-1] == 0


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


async def test_a_component_is_counted_where_its_unit_is(
    fleet: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """Registered at another site, it is told at the site of the unit it is fitted in, to a key of that site."""
    await post(
        fleet,
        administrator,
        registered("BT-1", fitted_to="FX-1", parts=[], site="east-yard", occurred_at=ago(hours=29)),
        opened({"hours": 1}, "rc-b", criteria=[{"serials": ["NW-BT-1"]}]),
    )
    dock, yard = [await keys.make("site-lead", [where]) for where in ("harrow-dock", "east-yard")]

    assert [one["site"] for one in (await impact(fleet, dock, "rc-b"))["sites"]] == ["harrow-dock"]
    assert list(units(await impact(fleet, dock, "rc-b"))) == ["BT-1"]
    assert (await impact(fleet, yard, "rc-b"))["units"] == []


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


async def test_what_a_recall_speaks_of_since_it_was_opened_again_counts_from_then(
    http: httpx.AsyncClient, administrator: Headers
) -> None:
    """What was done, or came out, while the recall spoke of another lot was not done about this one."""
    await post(
        http,
        administrator,
        *(site("harrow-dock"), model(), hood("FX-1", BAD), hood("FX-2", "L77"), hood("FX-3", "L77")),
        opened({"hours": 10}),
        *(message("cleaned", asset=tag, scope="unit", method="wiped", occurred_at=ago(hours=8)) for tag in TWO),
        swap("FX-3", {"hours": 7}, "L9"),
        opened({"hours": 2}, criteria=[{"item": "pf-170", "lot": "L77"}]),
    )
    told = units(await impact(http, administrator))

    assert [(tag, one["located_at"] is None, one["remedied_at"]) for tag, one in told.items()] == [
        ("FX-1", False, None),
        ("FX-2", True, None),
        ("FX-3", True, None),
    ]


async def test_only_an_order_for_the_reason_of_a_recall_stops_for_it(
    http: httpx.AsyncClient, administrator: Headers
) -> None:
    """A quarantine for another reason that names the recall holds nothing for it: the campaign orders it still."""
    aside = message("quarantined", asset="FX-1", reason="suspect", recall="rc-1", occurred_at=ago(hours=5))
    await post(http, administrator, site("harrow-dock"), model(), hood("FX-1", BAD), opened({"hours": 10}), aside)
    assert units(await impact(http, administrator))["FX-1"]["stopped_at"] is None
