"""A component that a day alone, which is not over, puts into another unit: it may be there since the day began."""

from datetime import timedelta
from typing import Any

import httpx
import pytest

from tests.http.about_noon import Where, here, not_known, today, tomorrow
from tests.http.firm import Headers, Message, ago, message, model, post, registered, site
from tests.http.keys import Keys
from tests.http.recall_firm import closed, hood, impact, opened, units
from tests.http.recall_fleet import stop

__all__ = ["here", "today"]


@pytest.fixture
async def battery(http: httpx.AsyncClient, administrator: Headers, here: Where) -> httpx.AsyncClient:
    """Give a client of a firm that recalls a battery, fitted in a unit at the dock, with another unit at the yard."""
    await post(
        http,
        administrator,
        *(site("harrow-dock", time_zone=here.zone), site("east-yard", time_zone=here.zone), model()),
        *(
            hood(tag, "L9", occurred_at=ago(days=3), site=at)
            for tag, at in (("FX-1", "harrow-dock"), ("YD-1", "east-yard"))
        ),
        registered("BT-1", fitted_to="FX-1", parts=[], occurred_at=ago(days=3)),
        opened({"days": 2}, criteria=[{"serials": ["NW-BT-1"]}]),
    )
    return http


def put_in(day: str, tag: str = "YD-1") -> Message:
    """Put the battery into a unit on a day."""
    new = {"in": {"item": "bat-64", "serial": "nw-bt-1", "condition": "refitted"}}
    return message("part-replaced", asset=tag, position="battery", reason="other", occurred_on=day, **new)


async def forbidden(http: httpx.AsyncClient, administrator: Headers) -> list[tuple[bool, bool]]:
    """Say of both units whether they are not to be used, and whether by the recall."""
    told = [(await http.get(f"/v1/assets/{tag}", headers=administrator)).json() for tag in ("FX-1", "YD-1")]
    return [(one["do_not_use"], "recall" in one["reasons"]) for one in told]


async def test_neither_unit_is_used(battery: httpx.AsyncClient, administrator: Headers, today: str) -> None:
    """It may be in either, and the one that it came from says nothing of it."""
    assert await forbidden(battery, administrator) == [(True, True), (False, False)]
    await post(battery, administrator, put_in(today))
    assert await forbidden(battery, administrator) == [(True, True), (True, True)]


async def test_it_is_told_where_it_was_said_to_be_last(
    battery: httpx.AsyncClient, administrator: Headers, keys: Keys, today: str
) -> None:
    """Its row goes to the other site at once, with what is not known; that site alone orders it, and answers for it."""
    await post(battery, administrator, put_in(today))
    told = await impact(battery, administrator)
    assert (told["units"][0]["host"], told["units"][0]["site"]) == ("YD-1", "east-yard")
    assert not_known(told)["day-not-over"] == 1
    assert "day-not-over" not in not_known(await impact(battery, administrator, as_at=tomorrow()))

    dock, yard = [await keys.make("manager", [where]) for where in ("harrow-dock", "east-yard")]
    assert [[one["asset"] for one in (await impact(battery, key))["units"]] for key in (dock, yard)] == [[], ["BT-1"]]
    assert [(await stop(battery, key))["quarantined"] for key in (dock, yard)] == [0, 1]
    [other], [own] = [await post(battery, key, closed("BT-1", seconds=nth)) for nth, key in ((1, dock), (0, yard))]
    assert [one["code"] for one in other["conflicts"]] == ["units-outstanding", "reason-without-unit"]
    assert own["conflicts"] == []


async def test_who_had_or_wore_either_today_is_named(
    battery: httpx.AsyncClient, administrator: Headers, here: Where, today: str
) -> None:
    """Of the unit that it came from as before; of the other for no second, today and once the day is over."""
    began = (here.begins + timedelta(minutes=1)).isoformat()
    worn = message("worn", asset="YD-1", wearer="p-9", occurred_at=began, until=ago(seconds=1))
    given = [
        message("issued", asset=tag, holder={"person": who}, occurred_at=began)
        for tag, who in (("FX-1", "p-7"), ("YD-1", "p-8"))
    ]
    await post(battery, administrator, *given, worn, put_in(today))

    one, over = [units(await impact(battery, administrator, **at))["BT-1"] for at in ({}, {"as_at": tomorrow()})]
    assert [(hand["holder"]["person"], hand["seconds"] > 0) for hand in one["hands"]] == [("p-7", True), ("p-8", False)]
    assert [(who["person"], who["seconds"]) for who in one["wearers"]] == [("p-9", 0)]
    assert [(who["person"], who["seconds"]) for who in over["wearers"]] == [("p-9", 0)]
    later = [(hand["holder"]["person"], hand["seconds"] > 0) for hand in over["hands"]]
    assert later == [("p-7", True), ("p-8", True), ("p-7", False)]  # nobody said that it was taken out of FX-1


async def test_it_is_put_away_in_neither(battery: httpx.AsyncClient, administrator: Headers, today: str) -> None:
    """The unit that it came from lies in the cage: today nobody knows whether it is there."""
    caged: dict[str, Any] = {"reason": "recall", "recall": "rc-1", "place": "cage-1"}
    await post(battery, administrator, message("quarantined", asset="FX-1", occurred_at=ago(days=1), **caged))
    before = units(await impact(battery, administrator))["BT-1"]["put_away_at"]
    await post(battery, administrator, put_in(today))
    one = units(await impact(battery, administrator))["BT-1"]
    assert (before is not None, one["put_away_at"], one["outstanding"]) == (True, None, True)
