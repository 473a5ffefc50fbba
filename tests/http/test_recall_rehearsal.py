"""What a rehearsal measures, and that it changes nothing."""

import httpx
import pytest

from tests.http.firm import Headers, ago, message, post
from tests.http.recall_firm import BAD, hood, impact, opened, stopped, the_fleet, units


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
