"""A recall that was opened more than once may ask more of some units than of others."""

import csv
import io
import re
from typing import Any

import httpx
import pytest

from tests.http.firm import Headers, ago, message, post
from tests.http.keys import Keys
from tests.http.recall_firm import LOT, fleet, impact, opened, stopped, units

__all__ = ["fleet"]

LATER = "2099-03-01"
ALL = ["FX-1", "FX-2", "FX-3", "FX-4", "YD-1"]


@pytest.fixture
async def mixed(fleet: httpx.AsyncClient, administrator: Headers) -> httpx.AsyncClient:
    """Have the same recall ask for an inspection of a further lot: FX-2 and FX-4 have it, FX-3 may have either."""
    inspect: dict[str, Any] = {"action": "inspect", "due_on": LATER, "criteria": [LOT | {"lot": "L9"}]}
    await post(fleet, administrator, opened({"hours": 1}, **inspect))
    return fleet


async def asked(http: httpx.AsyncClient, headers: Headers, **of: str) -> list[tuple[str | None, str | None]]:
    """Tell what is asked of each unit."""
    found = units(await impact(http, headers, **of))
    assert list(found) == ALL
    return [(one["action"], one["due_on"]) for one in found.values()]


async def test_each_unit_is_told_with_what_is_asked_of_it(mixed: httpx.AsyncClient, administrator: Headers) -> None:
    """The most of what reaches it, as it is judged by; the recall is told with the most of all."""
    stop, look = ("stop-use", None), ("inspect", LATER)
    assert await asked(mixed, administrator) == [stop, look, stop, look, stop]
    told = await impact(mixed, administrator)
    assert (told["recall"]["action"], told["recall"]["due_on"], told["total"]["outstanding"]) == ("stop-use", None, 5)
    both = [{"action": "stop-use", "due_on": None}, {"action": "inspect", "due_on": LATER}]
    found = units(told)
    assert [found[tag]["asks"] for tag in ("FX-1", "FX-2", "FX-3")] == [both[:1], both[1:], both]
    judged = [(await mixed.get(f"/v1/assets/{tag}", headers=administrator)).json()["reasons"] for tag in ALL]
    assert ["recall" in reasons for reasons in judged] == [True, False, True, False, True]


async def test_of_what_was_affected_once_nothing_is_asked(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """Of what was affected only once nothing is to be done."""
    found = units(await impact(fleet, administrator))
    assert [found[tag]["action"] for tag in ("FX-1", "FX-2")] == ["stop-use", None]


async def test_who_orders_units_out_of_use_is_told_how_many_stay_in_use(
    mixed: httpx.AsyncClient, administrator: Headers
) -> None:
    """Those that other openings alone reach, but for what is held already; with one that says so they are stopped."""
    await post(mixed, administrator, stopped("FX-4", {"minutes": 20}))
    assert await stop(mixed, administrator) == (3, 0, 1)
    await post(mixed, administrator, opened({"minutes": 10}, criteria=[LOT | {"lot": "L9"}]))
    assert await stop(mixed, administrator) == (1, 4, 0)


async def stop(http: httpx.AsyncClient, headers: Headers, **fields: Any) -> tuple[int, int, int]:
    """Order them out of use: how many are stopped, were, and stay in use."""
    answered = await http.post("/v1/recalls/rc-1/quarantine", json={"by": "p-1001"} | fields, headers=headers)
    assert (answered.status_code, answered.json()["done"]) == (200, True)
    return tuple(answered.json()[name] for name in ("quarantined", "already", "asked_less"))


async def test_a_preview_tells_it_as_it_would_be_asked(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """Of each unit, or nothing where it asks nothing."""
    what = {"criteria": [LOT]}
    for said, expected in (({}, None), ({"action": "rectify-by", "due_on": LATER}, ("rectify-by", LATER))):
        answered = await fleet.post("/v1/recalls/preview", json=what | said, headers=administrator)
        found = units(answered.json())
        assert (found["FX-1"]["action"], found["FX-1"]["due_on"]) == (expected or (None, None))
        assert found["FX-2"]["action"] is None


async def test_all_that_is_asked_of_a_unit_is_told_by_the_day_that_it_is_judged_by(
    fleet: httpx.AsyncClient, administrator: Headers
) -> None:
    """To have it put right by a day is not to have it inspected before its next use: the notice asks both."""
    other: dict[str, Any] = {"recall": "rc-2", "criteria": [LOT | {"lot": "L9"}]}
    await post(fleet, administrator, opened({"hours": 1}, action="rectify-by", due_on=LATER, **other))
    await post(fleet, administrator, opened({"minutes": 50}, action="inspect", **other))
    await post(fleet, administrator, opened({"minutes": 40}, action="information", due_on="2027-01-01", **other))
    found = units(await impact(fleet, administrator, "rc-2"))["FX-4"]
    assert (found["action"], found["due_on"]) == ("rectify-by", None)
    assert [(one["action"], one["due_on"]) for one in found["asks"]] == [
        ("rectify-by", LATER),
        ("inspect", None),
        ("information", "2027-01-01"),
    ]
    unit = (await fleet.get("/v1/assets/FX-4", headers=administrator)).json()
    assert ("recall" in unit["ready_to_issue"]["reasons"], found["phase"]) == (True, "in-store")
    text = (await fleet.get("/v1/recalls/rc-2/notice", headers=administrator)).text
    order = ["What to do", f"as the maker says, by {LATER}", "inspect each of these units, before they are used again"]
    places = [text.find(words) for words in order]
    assert -1 not in places
    assert places == sorted(places)


async def test_a_notice_lists_apart_what_is_to_be_done_otherwise(
    mixed: httpx.AsyncClient, administrator: Headers
) -> None:
    """What asks most stands first; of what may be either all is asked. A site with units of one sort is told that."""
    text = (await mixed.get("/v1/recalls/rc-1/notice", headers=administrator)).text
    yard, dock = re.findall("<section>.*?</section>", text, re.DOTALL)
    order = ["above each list", "Stop using", "FX-1,", f"by {LATER}", "FX-3,", "FX-2,", "FX-4,", "Spare stock"]
    places = [dock.find(words) for words in order]
    assert -1 not in places
    assert places == sorted(places)
    assert "Units to be dealt with: 4" in dock
    assert ("Stop using these units" in yard, LATER in yard, "above each list" in yard) == (True, False, False)


async def test_a_notice_lists_first_what_is_to_be_done_soonest(
    fleet: httpx.AsyncClient, administrator: Headers
) -> None:
    """Of what is to be done alike."""
    days = {"FX-1": "2099-03-01", "FX-2": "2099-01-01", "FX-4": "2099-02-01"}
    for tag, day in days.items():
        criteria = [{"model": "northwind-2", "serials": [f"NW-{tag}"]}]
        await post(fleet, administrator, opened({"hours": 1}, "rc-2", action="inspect", due_on=day, criteria=criteria))
    text = (await fleet.get("/v1/recalls/rc-2/notice", headers=administrator)).text
    lists = text[text.index("Units to be dealt with") :]
    places = [lists.index(words) for tag in ("FX-2", "FX-4", "FX-1") for words in (f"by {days[tag]}", f"{tag},")]
    assert places == sorted(places)


async def test_what_reached_a_unit_and_was_taken_back_is_asked_of_it_still(
    mixed: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """A voided opening holds what it had reached until that is dealt with: it is told so, as it is judged."""
    answered = await mixed.get("/v1/events", params={"kind": "recall-opened"}, headers=administrator)
    event = answered.json()["events"][0]["id"]
    voided = message("voided", event=event, reason="another lot", by="p-1002", occurred_at=ago(minutes=5))
    await post(mixed, await keys.make("manager"), voided)
    told = await impact(mixed, administrator)
    assert told["recall"]["action"] == "inspect"
    assert units(told)["FX-1"]["action"] == "stop-use"


async def test_where_no_unit_is_outstanding_all_is_told_that_openings_ask_which_stand(
    fleet: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """Of those taken back nothing, unless all were: then what they had asked."""
    nobody: dict[str, Any] = {"recall": "rc-2", "criteria": [{"model": "northwind-2", "serials": ["NW-NONE"]}]}
    stop, look = opened({"hours": 1}, **nobody), opened({"minutes": 50}, action="inspect", due_on=LATER, **nobody)

    async def told() -> tuple[bool, bool]:
        text = (await fleet.get("/v1/recalls/rc-2/notice", headers=administrator)).text
        todo = text[text.index("What to do") :]
        return "Stop using" in todo, f"inspect each of these units, by {LATER}" in todo

    await post(fleet, administrator, stop, look)
    assert await told() == (True, True)
    other = await keys.make("manager")
    await post(fleet, other, message("voided", event=stop["id"], by="p-2002", reason="another lot"))
    assert await told() == (False, True)
    await post(fleet, other, message("voided", event=look["id"], by="p-2002", reason="another lot"))
    assert await told() == (True, True)


async def test_tables_have_all_that_is_asked(mixed: httpx.AsyncClient, administrator: Headers) -> None:
    """Of each unit, and each opening of a recall, in their last columns."""
    table = administrator | {"accept": "text/csv"}
    found = [
        list(csv.DictReader(io.StringIO((await mixed.get(where, headers=table)).content.decode("utf-8-sig"))))
        for where in ("/v1/recalls/rc-1/impact", "/v1/recalls")
    ]
    assert [list(rows[0])[-1] for rows in found] == ["asks", "openings"]
    both = {row["asset"]: row["asks"] for row in found[0]}["FX-3"]
    assert [word in both for word in ("stop-use", "inspect", LATER)] == [True] * 3
    assert [word in found[1][0]["openings"] for word in ("stop-use", "inspect", "cracked housings")] == [True] * 3
