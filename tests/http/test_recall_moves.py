"""How far a recall had come at sites that units have left since."""

from typing import Any

import httpx
import pytest

from tests.http.firm import Headers, ago, message, model, post, registered, site
from tests.http.keys import Keys
from tests.http.recall_firm import BAD, hood, impact, opened, stopped, swap

STEPS = ("located", "stopped", "put_away", "remedied", "outstanding")


def days(told: Any) -> list[tuple[str, str, tuple[int, ...]]]:
    """Give the series of an answer: the site, the day and how far it had come."""
    return [(one["site"], one["day"], tuple(one[step] for step in STEPS)) for one in told["progress"]]


def day(back: int) -> str:
    """Name the day so many days ago, as it is at both sites."""
    return ago(days=back)[:10]


@pytest.fixture
async def moved(http: httpx.AsyncClient, administrator: Headers) -> httpx.AsyncClient:
    """Give a client of a firm whose unit was stopped at the dock, then went to the yard and was remedied there."""
    await post(
        http,
        administrator,
        *(site("harrow-dock", time_zone="Etc/UTC"), site("east-yard", time_zone="Etc/UTC"), model()),
        hood("FX-1", BAD, occurred_at=ago(days=9)),
        opened({"days": 8}),
        stopped("FX-1", {"days": 7}),
        message("moved", asset="FX-1", to_site="east-yard", occurred_at=ago(days=6)),
        message("received", asset="FX-1", site="east-yard", occurred_at=ago(days=5)),
        swap("FX-1", {"days": 4}, "L9"),
    )
    return http


async def test_a_unit_counts_at_the_site_where_it_was(moved: httpx.AsyncClient, administrator: Headers) -> None:
    """Outstanding at the dock until it was received at the yard, with all that was done about it by then."""
    assert days(await impact(moved, administrator)) == [
        ("east-yard", day(5), (1, 1, 1, 0, 1)),
        ("east-yard", day(4), (1, 1, 1, 1, 0)),
        ("harrow-dock", day(8), (0, 0, 0, 0, 1)),
        ("harrow-dock", day(7), (0, 1, 1, 0, 1)),
        ("harrow-dock", day(6), (1, 1, 0, 0, 1)),
        ("harrow-dock", day(5), (0, 0, 0, 0, 0)),
    ]


async def test_each_site_is_told_of_the_days_there(
    moved: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """A site that the unit has left sees how it was there, not where it is now; the new one nothing of before."""
    every = days(await impact(moved, administrator))
    for where in ("harrow-dock", "east-yard"):
        mine = [one for one in every if one[0] == where]
        told = await impact(moved, await keys.make("site-lead", [where]))
        assert days(told) == mine
        assert days(await impact(moved, administrator, site=where)) == mine
        assert [one["asset"] for one in told["units"]] == (["FX-1"] if where == "east-yard" else [])


async def test_a_component_counts_where_its_unit_was(moved: httpx.AsyncClient, administrator: Headers) -> None:
    """The battery went along in its unit, though nobody said so of the battery."""
    battery = registered("BT-1", fitted_to="FX-1", parts=[], site="harrow-dock", occurred_at=ago(days=9))
    await post(moved, administrator, battery, opened({"days": 8}, "rc-b", criteria=[{"serials": ["NW-BT-1"]}]))
    outstanding = [(where, on, steps[-1]) for where, on, steps in days(await impact(moved, administrator, "rc-b"))]
    assert outstanding[0] == ("east-yard", day(5), 1)
    assert outstanding[-1] == ("harrow-dock", day(5), 0)


async def test_what_is_over_stays_told_of_its_days(moved: httpx.AsyncClient, administrator: Headers) -> None:
    """Missing now, and another retired: on the days before the one was located, and the other outstanding."""
    seen = message("checked", asset="FX-2", points={"airflow": "pass"}, occurred_at=ago(days=6))
    await post(
        moved,
        administrator,
        *(hood(tag, BAD, occurred_at=ago(days=9)) for tag in ("FX-2", "FX-3")),
        *(seen, message("missing", asset="FX-2", occurred_at=ago(days=3))),
        message("retired", asset="FX-3", reason="worn-out", occurred_at=ago(days=2)),
    )
    told = [one for one in days(await impact(moved, administrator)) if one[0] == "harrow-dock"]

    assert [(on, located, outstanding) for _, on, (located, *_, outstanding) in told] == [
        (day(8), 0, 3),
        (day(7), 0, 3),
        (day(6), 2, 3),
        (day(5), 1, 2),
        (day(3), 0, 2),
        (day(2), 0, 1),
    ]


async def test_a_rehearsal_tells_when_units_lay_in_store(http: httpx.AsyncClient, administrator: Headers) -> None:
    """Found in store one day and issued the next: put away on the one day, and not on the other."""
    await post(
        http,
        administrator,
        *(site("harrow-dock", time_zone="Etc/UTC"), model(), hood("FX-1", BAD, occurred_at=ago(days=9))),
        opened({"days": 8}, rehearsal=True),
        message("cleaned", asset="FX-1", scope="unit", method="wiped", occurred_at=ago(days=7)),
        message("issued", asset="FX-1", holder={"person": "p-1"}, occurred_at=ago(days=6)),
    )
    told = days(await impact(http, administrator))
    assert [(on, steps[0], steps[2]) for _, on, steps in told] == [(day(8), 0, 0), (day(7), 1, 1), (day(6), 1, 0)]


async def test_days_on_which_nothing_changed_are_not_told(http: httpx.AsyncClient, administrator: Headers) -> None:
    """Issued it was located; as it came back and was issued again nothing changed, whichever way that is looked up."""
    worn = {"wearer": "p-1", "points": {"airflow": "pass", "battery": "pass"}, "airflow_lpm": 186.0}
    await post(
        http,
        administrator,
        *(site("harrow-dock", time_zone="Etc/UTC"), model(), hood("FX-1", BAD, occurred_at=ago(days=9))),
        opened({"days": 8}),
        message("issued", asset="FX-1", holder={"person": "p-1"}, occurred_at=ago(days=7)),
        message("checked", asset="FX-1", occurred_at=ago(days=6), **worn),
        message("returned", asset="FX-1", occurred_at=ago(days=5)),
        message("issued", asset="FX-1", holder={"person": "p-1"}, occurred_at=ago(days=4)),
    )
    then = ago(days=1)
    told = days(await impact(http, administrator, as_at=then))
    await post(http, administrator, message("cleaned", asset="FX-1", scope="unit", method="wiped"))

    assert [(on, steps[0], steps[-1]) for _, on, steps in told] == [(day(8), 0, 1), (day(7), 1, 1)]
    assert days(await impact(http, administrator, as_at=then)) == told
