"""Who had and wore what a recall speaks of, where the records tell of a time only in part."""

from datetime import UTC, datetime, timedelta
from typing import Any

import httpx

from tests.http.firm import Headers, Message, ago, checked, issued, message, model, post, registered, site
from tests.http.recall_firm import BAD, fitted, hood, impact, opened, swap, units

SITES = (site("harrow-dock"), model())
COMPONENT: Any = {"criteria": [{"serials": ["NW-HT-1"]}]}


async def told(http: httpx.AsyncClient, headers: Headers, *said: Message) -> Any:
    """Tell a firm of a unit and open the recall, and ask what it has done."""
    await post(http, headers, *SITES, *said)
    return await impact(http, headers)


def worn(told: Any, tag: str = "FX-1") -> list[tuple[str, int, int]]:
    """Show who wore a unit, how often, and for how many minutes."""
    return [(one["person"], one["times"], round(one["seconds"] / 60)) for one in units(told)[tag]["wearers"]]


def held(told: Any) -> list[tuple[dict[str, str], int]]:
    """Show who had the unit, and for how many minutes."""
    return [(one["holder"], round(one["seconds"] / 60)) for one in units(told)["FX-1"]["hands"]]


def codes(told: Any) -> dict[str, int]:
    """Show what is not known."""
    return {one["code"]: one["count"] for one in told["unknown"]}


def wear(person: str, *, hours: float, until: float | None = None, tag: str = "FX-1") -> Message:
    """Tell that a person wore a unit so many hours ago."""
    end = {} if until is None else {"until": ago(hours=until)}
    return message("worn", asset=tag, wearer=person, occurred_at=ago(hours=hours), **end)


async def test_a_wearing_without_an_end_may_last_into_a_part(http: httpx.AsyncClient, administrator: Headers) -> None:
    """Who put the unit on before the lot came in, and is not known to have taken it off, is named, for no second."""
    given = issued("FX-1", holder={"place": "bay-1"}, occurred_at=ago(hours=19))
    found = await told(
        http,
        administrator,
        *(hood("FX-1", "L9"), given, wear("p-7", hours=8), wear("p-8", hours=6)),
        *(swap("FX-1", {"hours": 5}, BAD), opened({"hours": 2})),
    )

    assert worn(found) == [("p-8", 1, 0)]
    assert codes(found)["wearing-without-end"] == 1


async def test_who_wears_a_unit_every_day_is_told_since_the_lot_came_in(
    http: httpx.AsyncClient, administrator: Headers
) -> None:
    """Six daily checks, the lot put in before the last: worn twice at most, and not before it was there."""
    days = [ago(hours=24 * nth + 2) for nth in range(6, 0, -1)]
    checks = [checked("FX-1", wearer="p-7", occurred_at=day) for day in days]
    put_in = ago(hours=27)
    found = await told(
        http,
        administrator,
        *(hood("FX-1", "L9", occurred_at=ago(days=9)), *checks),
        *(fitted("FX-1", BAD, occurred_at=put_in), opened({"hours": 1})),
    )

    assert worn(found) == [("p-7", 2, 0)]
    [wearer] = units(found)["FX-1"]["wearers"]
    came_in, last = (datetime.fromisoformat(one) for one in (put_in, days[-1]))
    assert [datetime.fromisoformat(wearer[end]) for end in ("first", "last")] == [came_in, last]
    people = await http.get("/v1/recalls/rc-1/people", headers=administrator)
    [person] = people.json()["people"]
    assert (person["times_worn"], person["first"], person["last"]) == (2, wearer["first"], wearer["last"])


async def test_a_wearing_ends_as_the_unit_leaves_the_hand(http: httpx.AsyncClient, administrator: Headers) -> None:
    """With an end or without one: what was returned before the lot came in was not worn with it."""
    given = issued("FX-1", holder={"person": "p-5"}, occurred_at=ago(hours=20))
    back = message("returned", asset="FX-1", occurred_at=ago(hours=18))
    found = await told(
        http,
        administrator,
        *(hood("FX-1", "L9"), given, wear("p-5", hours=19.5, until=10), wear("p-6", hours=19), back),
        *(swap("FX-1", {"hours": 17}, BAD), opened({"hours": 2})),
    )
    assert worn(found) == []


async def test_an_end_after_the_return_counts_to_the_return(http: httpx.AsyncClient, administrator: Headers) -> None:
    """Said to have been worn for eight hours, and given back after one: that is an hour."""
    given = issued("FX-1", holder={"person": "p-5"}, occurred_at=ago(hours=20))
    back = message("returned", asset="FX-1", occurred_at=ago(hours=18))
    found = await told(
        http, administrator, hood("FX-1", BAD), given, wear("p-5", hours=19, until=11), back, opened({"hours": 2})
    )
    assert worn(found) == [("p-5", 1, 60)]


async def test_what_was_dealt_with_exposes_nobody(http: httpx.AsyncClient, administrator: Headers) -> None:
    """Hands and wearings count up to the remedy."""
    given = issued("FX-1", holder={"person": "p-5"}, occurred_at=ago(hours=9))
    again = issued("FX-1", holder={"person": "p-6"}, occurred_at=ago(hours=7))
    found = await told(
        http,
        administrator,
        *(hood("FX-1", BAD), opened({"hours": 15}), given, wear("p-5", hours=9, until=7.5)),
        message("recall-actioned", asset="FX-1", recall="rc-1", result="fixed", occurred_at=ago(hours=8)),
        *(again, wear("p-6", hours=7, until=6)),
    )

    assert worn(found) == [("p-5", 1, 60)]
    assert held(found) == [({"person": "p-5"}, 60)]


async def test_a_day_alone_meets_what_was_there_on_it(http: httpx.AsyncClient, administrator: Headers) -> None:
    """The lot went out in the afternoon of the day on which it was issued and worn: named, for no second."""
    yesterday = datetime.now(UTC).date() - timedelta(days=1)
    out = f"{yesterday}T16:00:00+00:00"
    found = await told(
        http,
        administrator,
        hood("FX-1", BAD, occurred_at=ago(hours=90)),
        message("issued", asset="FX-1", holder={"person": "p-1"}, occurred_on=str(yesterday)),
        message("worn", asset="FX-1", wearer="p-2", occurred_on=str(yesterday)),
        message("failed-in-use", asset="FX-1", signs=[], wearer="p-3", occurred_on=str(yesterday)),
        *(fitted("FX-1", "L9", occurred_at=out), opened({"seconds": 1})),
    )

    assert held(found) == [({"person": "p-1"}, 0)]
    assert worn(found) == [("p-2", 1, 0), ("p-3", 1, 0)]


async def test_a_part_put_in_on_a_day_may_have_been_worn_on_it(http: httpx.AsyncClient, administrator: Headers) -> None:
    """A change that states its day alone counts at its end; who wore the unit that noon is named all the same."""
    yesterday = datetime.now(UTC).date() - timedelta(days=1)
    noon, later = (f"{yesterday}T{hour}:00:00+00:00" for hour in (12, 13))
    found = await told(
        http,
        administrator,
        hood("FX-1", "L9", occurred_at=ago(hours=90)),
        message("worn", asset="FX-1", wearer="p-2", occurred_at=noon, until=later),
        *(fitted_on(str(yesterday)), opened({"seconds": 1})),
    )
    assert worn(found) == [("p-2", 1, 0)]


async def test_what_sat_in_a_unit_before_its_registration_is_told(
    http: httpx.AsyncClient, administrator: Headers
) -> None:
    """What was said of a tag before it was registered: the lot came in and went, somebody had it and wore it."""
    before = [
        swap("FX-1", {"hours": 25}, BAD, site="harrow-dock"),
        issued("FX-1", site="harrow-dock", holder={"person": "p-4"}, occurred_at=ago(hours=20)),
        wear("p-4", hours=19, until=18) | {"site": "harrow-dock"},
        swap("FX-1", {"hours": 17}, "L9", site="harrow-dock"),
    ]
    await post(http, administrator, *SITES)
    waiting = await http.post("/v1/events", json=before, headers=administrator)
    assert [one["status"] for one in waiting.json()["results"]] == [422] * 4
    bare = registered("FX-1", parts=[], occurred_at=ago(hours=5))
    await post(http, administrator, bare, opened({"hours": 2}))
    found = await impact(http, administrator)

    assert [(one["state"], one["certain"]) for one in units(found)["FX-1"]["sittings"]] == [("removed", True)]
    assert worn(found) == [("p-4", 1, 60)]
    assert held(found) == [({"person": "p-4"}, 180)]


async def test_a_unit_told_of_before_it_came_may_have_held_anything_since(
    http: httpx.AsyncClient, administrator: Headers
) -> None:
    """Of a position that nothing was said of, and of the unit itself, it counts from the first that is told of it."""
    early = wear("p-4", hours=19, until=18) | {"site": "harrow-dock"}
    await post(http, administrator, *SITES)
    await http.post("/v1/events", json=early, headers=administrator)
    bare = registered("FX-1", parts=[], occurred_at=ago(hours=5))
    await post(http, administrator, bare, opened({"hours": 2}))
    found = await impact(http, administrator)

    assert worn(found) == [("p-4", 1, 60)]


def fitted_on(day: str) -> Message:
    """Put the lot in on a day."""
    new = {"item": "pf-170", "lot": BAD, "condition": "new"}
    return message(
        "filter-replaced", asset="FX-1", position="particle-filter", reason="other", occurred_on=day, **{"in": new}
    )


async def test_a_component_is_worn_with_its_unit_and_by_its_own_tag(
    http: httpx.AsyncClient, administrator: Headers
) -> None:
    """Without an end too, which is told as not known; what is said of the component itself counts as well."""
    component = registered("HT-1", parts=[], fitted_to="FX-1", occurred_at=ago(hours=5))
    found = await told(
        http,
        administrator,
        *(hood("FX-1", "L9"), wear("p-7", hours=6), component, wear("p-8", hours=4, until=3, tag="HT-1")),
        opened({"hours": 2}, **COMPONENT),
    )

    assert worn(found, "HT-1") == [("p-7", 1, 0), ("p-8", 1, 60)]
    assert codes(found)["wearing-without-end"] == 1
