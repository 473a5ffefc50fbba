"""Components in campaigns and closings: they count at the site of the unit that they are fitted in (R51)."""

from typing import Any

import httpx
import pytest

from tests.http.firm import Headers, Message, ago, message, model, post, registered, site
from tests.http.keys import Keys
from tests.http.recall_firm import hood, impact, opened
from tests.http.recall_fleet import stop, unit

REFITTED = {"condition": "refitted"}


@pytest.fixture
async def battery(http: httpx.AsyncClient, administrator: Headers) -> httpx.AsyncClient:
    """Give a client of a firm that recalls a battery, registered at the yard and fitted in a unit at the dock."""
    await post(
        http,
        administrator,
        *(site("harrow-dock"), site("east-yard"), model(), hood("FX-1", "L9")),
        registered("BT-1", fitted_to="FX-1", parts=[], site="east-yard", occurred_at=ago(hours=29)),
        opened({"hours": 2}, criteria=[{"serials": ["NW-BT-1"]}]),
    )
    return http


def closed(*tags: str) -> Message:
    """Close the recall now, with a reason for units."""
    reasons = [{"asset": tag, "reason": "on its way to the maker"} for tag in tags]
    return message("recall-closed", recall="rc-1", occurred_at=ago(seconds=0), outstanding=reasons)


def ordered(told: Any) -> tuple[int, int]:
    """Give how many units were stopped by a request, and how many before."""
    return told["quarantined"], told["already"]


async def test_a_site_stops_the_components_that_it_is_told_of(battery: httpx.AsyncClient, keys: Keys) -> None:
    """The site where its unit is orders it out of use; the one where it was registered is told of and stops none."""
    dock, yard = [await keys.make("site-lead", [where]) for where in ("harrow-dock", "east-yard")]
    assert [one["asset"] for one in (await impact(battery, yard))["units"]] == []
    assert ordered(await stop(battery, yard)) == (0, 0)
    assert [one["asset"] for one in (await impact(battery, dock))["units"]] == ["BT-1"]
    assert [ordered(await stop(battery, dock)) for _ in range(2)] == [(1, 0), (0, 1)]


async def test_taken_out_it_is_its_own_sites_again(
    battery: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """Once it is taken out of its unit it counts where it is said to be itself."""
    taken_out = {"position": "battery", "out": {"item": "bat-64", "serial": "NW-BT-1"}, "reason": "recall"}
    await post(battery, administrator, message("part-replaced", asset="FX-1", occurred_at=ago(hours=1), **taken_out))
    dock, yard = [await keys.make("site-lead", [where]) for where in ("harrow-dock", "east-yard")]

    assert [ordered(await stop(battery, key)) for key in (dock, yard)] == [(0, 0), (1, 0)]
    assert (await unit(battery, administrator, "BT-1"))["site"] == "east-yard"


async def test_reasons_for_components_come_from_where_they_are(battery: httpx.AsyncClient, keys: Keys) -> None:
    """The manager of the site where its unit is gives the reason; that of another site has none to give."""
    dock, yard = [await keys.make("manager", [where]) for where in ("harrow-dock", "east-yard")]
    [other] = await post(battery, yard, closed("BT-1"))
    [own] = await post(battery, dock, closed("BT-1"))

    assert [one["code"] for one in other["conflicts"]] == ["units-outstanding", "reason-without-unit"]
    assert own["conflicts"] == []
    early = [(await post(battery, key, closed("BT-1") | {"recall": "rc-2"}))[0]["conflicts"] for key in (yard, dock)]
    assert [[one["code"] for one in told] for told in early] == [
        ["unknown-recall", "reason-without-unit"],
        ["unknown-recall"],
    ]


async def test_it_is_followed_into_another_unit(battery: httpx.AsyncClient, administrator: Headers) -> None:
    """Put into another unit by its serial number alone, it makes that one not to be used, and names who wore that.

    The one it came from is free once it tells itself that it was taken out: the number may be another part's.
    """
    put_in = {"position": "battery", "reason": "other", "in": {"item": "bat-64", "serial": "nw-bt-1", **REFITTED}}
    taken_out = {"position": "battery", "reason": "other", "out": {"item": "bat-64", "serial": "NW-BT-1"}}

    async def recalled() -> list[bool]:
        told = [(await battery.get(f"/v1/assets/{tag}", headers=administrator)).json() for tag in ("FX-1", "FX-2")]
        return ["recall" in one["reasons"] for one in told]

    await post(
        battery,
        administrator,
        hood("FX-2", "L9", site="east-yard"),
        message("part-replaced", asset="FX-2", occurred_at=ago(hours=1.5), **put_in),
        message("worn", asset="FX-2", occurred_at=ago(hours=1), until=ago(minutes=30), wearer="p-9"),
    )
    assert await recalled() == [True, True]
    [told] = (await impact(battery, administrator))["units"]
    assert (told["host"], told["site"]) == ("FX-2", "east-yard")
    assert [(one["person"], one["seconds"]) for one in told["wearers"]] == [("p-9", 1800)]

    await post(battery, administrator, message("part-replaced", asset="FX-1", occurred_at=ago(hours=2), **taken_out))
    assert await recalled() == [False, True]


async def test_what_another_site_says_of_a_serial_number_frees_no_unit(
    battery: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """A part of the same number that is put in or taken out elsewhere leaves the component's own unit as it is."""
    yard = await keys.make("site-lead", ["east-yard"])
    part = {"item": "pf-170", "serial": "NW-BT-1"}
    said: dict[str, Any] = {"asset": "YD-1", "position": "particle-filter", "reason": "other"}
    await post(
        battery,
        administrator,
        hood("YD-1", "L9", site="east-yard"),
        message("quarantined", asset="BT-1", reason="damage", occurred_at=ago(hours=20)),
    )
    await post(battery, yard, message("filter-replaced", **said, **{"in": part | REFITTED}, occurred_at=ago(hours=1)))
    await post(battery, yard, message("part-replaced", **said, out=part, occurred_at=ago(minutes=30)))
    told = (await battery.get("/v1/assets/FX-1", headers=administrator)).json()
    assert (told["do_not_use"], set(told["reasons"])) == (True, {"recall", "withdrawal"})


async def test_put_in_elsewhere_it_may_be_in_either(
    battery: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """Who has and wears the unit that it came from is named as before, for no second; its site is told so much."""
    put_in = {"position": "battery", "reason": "other", "in": {"item": "bat-64", "serial": "nw-bt-1", **REFITTED}}
    worn = message("worn", asset="FX-1", occurred_at=ago(minutes=50), until=ago(minutes=30), wearer="p-9")
    await post(
        battery,
        administrator,
        hood("YD-1", "L9", site="east-yard"),
        message("part-replaced", asset="YD-1", occurred_at=ago(hours=1), **put_in),
        message("issued", asset="FX-1", occurred_at=ago(minutes=55), holder={"person": "p-7"}),
        worn,
    )
    [told] = (await impact(battery, administrator))["units"]
    assert (told["host"], [(one["holder"]["person"], one["seconds"]) for one in told["hands"]]) == (
        "YD-1",
        [("p-7", 0)],
    )
    assert [(one["person"], one["seconds"]) for one in told["wearers"]] == [("p-9", 0)]

    dock, yard = [await keys.make("manager", [where]) for where in ("harrow-dock", "east-yard")]
    found = [await impact(battery, key) for key in (dock, yard, administrator)]
    codes = [{one["code"]: one["count"] for one in one["unknown"]}.get("in-one-of-two") for one in found]
    assert (codes, [len(one["units"]) for one in found]) == ([1, None, 1], [0, 1, 1])
    out = {"position": "battery", "reason": "other", "out": {"item": "bat-64", "serial": "NW-BT-1"}}
    await post(battery, administrator, message("part-replaced", asset="FX-1", occurred_at=ago(hours=1), **out))
    told = await impact(battery, administrator)
    assert [one["code"] for one in told["unknown"] if one["code"] == "in-one-of-two"] == []
    assert (told["units"][0]["hands"], told["units"][0]["wearers"]) == ([], [])


@pytest.mark.parametrize("lower", ["case", "cell"])
async def test_a_component_in_a_component_is_told_in_the_unit_that_holds_both(
    lower: str, http: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """It stops that unit, counts at its site, and names who had and wore it, whatever the events are called."""
    names = {part: f"01900000-0000-7000-8000-{nth:012d}" for nth, part in enumerate(("case", "cell"))}
    if lower == "cell":
        names = {"case": names["cell"], "cell": names["case"]}
    await post(
        http,
        administrator,
        *(site("harrow-dock"), site("east-yard"), model(), hood("YD-1", "L9", site="east-yard")),
        registered("CA-1", id=names["case"], fitted_to="YD-1", parts=[]),
        registered("CE-1", id=names["cell"], fitted_to="CA-1", parts=[]),
        message("issued", asset="YD-1", occurred_at=ago(hours=4), holder={"person": "p-7"}),
        message("worn", asset="YD-1", occurred_at=ago(hours=3), until=ago(hours=2.5), wearer="p-9"),
        opened({"hours": 2}, criteria=[{"serials": ["NW-CE-1"]}]),
    )
    assets = [(await http.get(f"/v1/assets/{tag}", headers=administrator)).json() for tag in ("YD-1", "CA-1")]
    assert [(one["do_not_use"], "recall" in one["reasons"]) for one in assets] == [(True, True)] * 2
    yard = await keys.make("manager", ["east-yard"])
    [told] = (await impact(http, yard))["units"]
    assert (told["asset"], told["host"], told["site"]) == ("CE-1", "YD-1", "east-yard")
    assert [one["holder"]["person"] for one in told["hands"]] == ["p-7"]
    assert [(one["person"], one["seconds"]) for one in told["wearers"]] == [("p-9", 1800)]
    assert ordered(await stop(http, yard)) == (1, 0)


async def test_what_may_hold_it_through_another_is_told_at_its_own_site(
    http: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """The case that holds the cell was put into another unit, and the one that it came from says nothing."""
    put_in = {"position": "battery", "reason": "other", "in": {"item": "case", "serial": "NW-CA-1", **REFITTED}}
    await post(
        http,
        administrator,
        *(site("harrow-dock"), site("east-yard"), model(), hood("FX-1", "L9"), hood("YD-1", "L9", site="east-yard")),
        registered("CA-1", fitted_to="YD-1", parts=[]),
        registered("CE-1", fitted_to="CA-1", parts=[]),
        message("part-replaced", asset="FX-1", occurred_at=ago(hours=1), **put_in),
        opened({"hours": 2}, criteria=[{"serials": ["NW-CE-1"]}]),
    )
    dock, yard = [await keys.make("manager", [where]) for where in ("harrow-dock", "east-yard")]
    found = [await impact(http, key) for key in (dock, yard, administrator)]
    codes = [{one["code"]: one["count"] for one in told["unknown"]}.get("in-one-of-two") for told in found]
    assert [[one["host"] for one in told["units"]] for told in found] == [["FX-1"], [], ["FX-1"]]
    assert codes == [None, 1, 1]
