"""What a rehearsal measures, and that it changes nothing."""

from typing import Any

import httpx
import pytest

from tests.http.firm import Headers, ago, message, post
from tests.http.keys import Keys
from tests.http.recall_firm import BAD, closed, hood, impact, opened, stopped, swap, the_fleet, units

NEW = {"item": "pf-170", "lot": "L9", "condition": "new"}
LEFT_OUT = [{"code": "rehearsal-left-out"}]


@pytest.fixture
async def fleet(http: httpx.AsyncClient, administrator: Headers) -> httpx.AsyncClient:
    """Give a client of a firm that began to rehearse fifty minutes ago, with one unit more that has the lot."""
    await post(http, administrator, *the_fleet(), hood("FX-5", BAD))
    before = await http.get("/v1/compliance/assets", headers=administrator, params={"limit": "500"})
    await post(http, administrator, opened({"minutes": 50}, rehearsal=True))
    after = await http.get("/v1/compliance/assets", headers=administrator, params={"limit": "500"})
    assert [(one["tag"], one["phase"], one["standing"], one["reasons"]) for one in after.json()["assets"]] == [
        (one["tag"], one["phase"], one["standing"], one["reasons"]) for one in before.json()["assets"]
    ]
    return http


async def test_a_rehearsal_measures_how_long_it_takes(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """Units that nobody has found count as slower than any: half were found in twenty minutes."""
    await post(
        fleet,
        administrator,
        message("returned", asset="FX-1", occurred_at=ago(minutes=40)),
        message("cleaned", asset="FX-5", scope="unit", method="wiped", occurred_at=ago(minutes=30)),
    )
    told = await impact(fleet, administrator)
    measured = told["rehearsal"]

    assert (measured["located"]["done"], measured["located"]["of"]) == (2, 4)
    assert 1190 <= measured["located"]["median_seconds"] <= 1210
    assert (measured["located"]["p90_seconds"], measured["located"]["max_seconds"]) == (None, None)
    assert [(one["asset"], one["site"]) for one in measured["located"]["slowest"]] == [
        ("FX-5", "harrow-dock"),
        ("FX-1", "harrow-dock"),
    ]
    assert (measured["put_away"]["done"], units(told)["FX-1"]["phase"]) == (2, "in-store")
    assert (measured["not_located"], measured["parts_unknown"], measured["stock_unknown"]) == (2, 1, 1)


async def test_all_found_the_slowest_is_told(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """Once every unit was found there are all numbers; one that is still in a hand was not put away."""
    tags = ("FX-3", "FX-5", "YD-1")
    await post(
        fleet,
        administrator,
        message("worn", asset="FX-1", wearer="p-9", occurred_at=ago(minutes=20)),
        *(message("cleaned", asset=tag, scope="unit", method="wiped", occurred_at=ago(minutes=40)) for tag in tags),
    )
    measured = (await impact(fleet, administrator))["rehearsal"]

    assert measured["not_located"] == 0
    located, away = measured["located"], measured["put_away"]
    assert located["median_seconds"] < located["p90_seconds"] == located["max_seconds"]
    assert located["slowest"][0]["asset"] == "FX-1"
    assert (away["done"], away["max_seconds"], away["median_seconds"]) == (3, None, located["median_seconds"])


async def test_a_withdrawal_in_a_rehearsal_is_one_all_the_same(
    fleet: httpx.AsyncClient, administrator: Headers
) -> None:
    """The rehearsal changes no phase, a quarantine that somebody posts does, and is measured."""
    await post(fleet, administrator, stopped("FX-1", {"minutes": 20}, place="cage-1"))
    told = await impact(fleet, administrator)

    assert [one["phase"] for one in told["units"] if one["asset"] == "FX-1"] == ["quarantined"]
    assert (told["total"]["stopped"], told["total"]["put_away"]) == (1, 1)
    assert told["rehearsal"]["put_away"]["done"] == 1


async def test_what_another_recall_put_away_is_not_measured(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """Withdrawn in store for another recall, a unit was found by nobody for this one."""
    await post(fleet, administrator, opened({"minutes": 40}, "rc-other"), stopped("YD-1", {"minutes": 30}, "rc-other"))
    told = await impact(fleet, administrator)

    assert units(told)["YD-1"]["phase"] == "quarantined"
    assert (units(told)["YD-1"]["put_away_at"], told["rehearsal"]["put_away"]["done"]) == (None, 0)


async def test_what_was_retired_before_is_not_looked_for(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """A unit that was gone before the drill makes it no slower; one that is retired in it unseen would be missed."""
    await post(
        fleet,
        administrator,
        *(hood("FX-6", BAD), message("retired", asset="FX-6", reason="worn-out", occurred_at=ago(hours=20))),
        message("returned", asset="FX-1", occurred_at=ago(minutes=40)),
        *(
            message("cleaned", asset=tag, scope="unit", method="wiped", occurred_at=ago(minutes=30))
            for tag in ("FX-3", "YD-1")
        ),
        message("retired", asset="FX-5", reason="lost", occurred_at=ago(minutes=20)),
    )
    told = await impact(fleet, administrator)
    measured = told["rehearsal"]

    assert (units(told)["FX-6"]["affected"], told["total"]["retired"]) == (True, 2)
    assert (measured["located"]["done"], measured["located"]["of"], measured["not_located"]) == (3, 4, 1)
    assert (measured["located"]["max_seconds"], measured["put_away"]["of"]) == (None, 4)


def conflicts(results: list[Any]) -> list[Any]:
    """Give the conflicts of each message."""
    return [one["conflicts"] for one in results]


@pytest.mark.parametrize("at", [{"hours": 3}, {"minutes": 5}])
async def test_a_rehearsal_of_what_is_in_earnest_is_told_that_it_is_left_out(
    fleet: httpx.AsyncClient, administrator: Headers, keys: Keys, at: dict[str, float]
) -> None:
    """From before or since, closed or not: it is recorded and told, now, as a repeat, and to whoever reads it."""
    real, end = opened({"hours": 2}, "rc-2"), closed("FX-1", "FX-3", "FX-5", "YD-1", recall="rc-2", minutes=30)
    assert conflicts(await post(fleet, administrator, real, end)) == [[], []]
    before = await impact(fleet, administrator, "rc-2")
    drill = opened(at, "rc-2", rehearsal=True, criteria=[{"item": "bat-64"}])
    assert conflicts(await post(fleet, administrator, drill)) == [LEFT_OUT]

    again = await fleet.post("/v1/events", json=drill, headers=administrator)
    reader = await keys.make("auditor")
    read = await fleet.get(f"/v1/events/{drill['id']}", headers=reader)
    assert (again.status_code, again.json()["conflicts"], read.json()["conflicts"]) == (200, LEFT_OUT, LEFT_OUT)
    after = await impact(fleet, administrator, "rc-2")
    assert (after["recall"], after["rehearsal"], after["units"]) == (before["recall"], None, before["units"])


async def test_strictly_it_is_told_all_the_same(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """An opening is bad news, which is never turned away (design 3.7)."""
    await post(fleet, administrator, opened({"hours": 2}, "rc-2"))
    strict = administrator | {"prefer": "handling=strict"}
    answered = await fleet.post("/v1/events", json=opened({"minutes": 5}, "rc-2", rehearsal=True), headers=strict)
    assert (answered.status_code, answered.json()["conflicts"]) == (201, LEFT_OUT)


async def test_what_was_taken_back_was_in_earnest(fleet: httpx.AsyncClient, administrator: Headers, keys: Keys) -> None:
    """Of a recall whose opening was voided a rehearsal is left out too: units may be under it still."""
    real = opened({"hours": 2}, "rc-2")
    await post(fleet, administrator, real)
    void = message("voided", event=real["id"], reason="wrong lot", by="p-2", occurred_at=ago(minutes=30))
    await post(fleet, await keys.make("manager"), void)
    drill = opened({"minutes": 5}, "rc-2", rehearsal=True)
    assert conflicts(await post(fleet, administrator, drill)) == [LEFT_OUT]
    assert (await impact(fleet, administrator, "rc-2"))["recall"]["voided_at"] is not None


async def test_what_is_said_before_counts_alone(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """A recall that is only rehearsed, opened in earnest later, or of another name contradicts no rehearsal."""
    real, other = opened({"minutes": 20}), opened({"minutes": 20}, "rc-2")
    drills = [opened({"minutes": at}, rehearsal=True) for at in (40, 30, 10)]
    said = [drills[0], other, drills[1], real, drills[2]]
    assert conflicts(await post(fleet, administrator, *said)) == [[], [], [], [], LEFT_OUT]


async def test_what_is_found_after_the_end_was_not_found_in_it(
    fleet: httpx.AsyncClient, administrator: Headers
) -> None:
    """A drill that was closed is measured up to then: what it would miss no later use of a unit mends, and no swap.

    Nor does whoever closes it once more.
    """
    await post(
        fleet,
        administrator,
        message("returned", asset="FX-1", occurred_at=ago(minutes=40)),
        closed(minutes=30),
    )
    measured = (await impact(fleet, administrator))["rehearsal"]
    await post(
        fleet,
        administrator,
        message("cleaned", asset="FX-5", scope="unit", method="wiped", occurred_at=ago(minutes=20)),
        swap("YD-1", {"minutes": 15}, "L9", reason="loading"),
        message("part-identified", asset="FX-3", position="particle-filter", part=NEW, occurred_at=ago(minutes=10)),
        closed(minutes=5),
    )
    told = await impact(fleet, administrator)

    assert (measured["located"]["done"], measured["not_located"], measured["parts_unknown"]) == (1, 3, 1)
    assert told["rehearsal"] == measured
    assert (units(told)["FX-5"]["located_at"] is None, units(told)["YD-1"]["affected"]) == (False, False)


async def test_what_is_put_away_for_another_reason_is_put_away_once_it_is_found(
    fleet: httpx.AsyncClient, administrator: Headers
) -> None:
    """Whoever finds a unit and locks it up has put it away; one that was locked up before is, when it is found."""
    dirty = {"reason": "contamination", "place": "cage-1"}
    await post(
        fleet,
        administrator,
        message("quarantined", asset="FX-5", occurred_at=ago(hours=3), **dirty),
        message("quarantined", asset="FX-1", occurred_at=ago(minutes=40), **dirty),
        message("cleaned", asset="FX-5", scope="unit", method="wiped", occurred_at=ago(minutes=20)),
    )
    told = await impact(fleet, administrator)
    away = {one["asset"]: one["seconds"] for one in told["rehearsal"]["put_away"]["slowest"]}

    assert {tag: round(seconds, -1) for tag, seconds in away.items()} == {"FX-1": 600, "FX-5": 1800}
    assert told["total"]["put_away"] == sum(day["put_away"] for day in last_days(told)) == 2


async def test_an_order_puts_nothing_away_before_it(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """A unit that lay in a cage all along was not put away at once because the drill names it later."""
    dirty = {"reason": "contamination", "place": "cage-1"}
    await post(
        fleet,
        administrator,
        message("quarantined", asset="FX-5", occurred_at=ago(hours=3), **dirty),
        stopped("FX-5", {"minutes": 20}),
    )
    (away,) = (await impact(fleet, administrator))["rehearsal"]["put_away"]["slowest"]

    assert (away["asset"], round(away["seconds"], -1)) == ("FX-5", 1800)


def last_days(told: Any) -> list[Any]:
    """Give of each site the last day of its progress."""
    return list({day["site"]: day for day in sorted(told["progress"], key=lambda one: one["day"])}.values())
