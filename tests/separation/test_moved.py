"""A unit that went from one site to another: each site's keys are told what is theirs to know (decision 21)."""

from datetime import UTC, datetime, timedelta

import pytest

from tests.separation.firm import MOVED, ident
from tests.separation.marks import everything, marks_in
from tests.separation.world import Reader, World

DOCK, YARD = Reader("ours", "site-lead", "dock"), Reader("ours", "site-lead", "yard")
MANAGER = Reader("ours", "manager")


def ago(hours: float) -> str:
    """Give a moment."""
    return (datetime.now(UTC) - timedelta(hours=hours)).isoformat()


@pytest.mark.parametrize("rest", ["", "/history", "/standing"])
async def test_a_unit_is_read_where_it_is(world: World, rest: str) -> None:
    """The site that a unit is at now reads it and its whole history; the one that it left reads it no more."""
    here, there = [await world.ask(reader, "GET", f"/v1/assets/{MOVED}{rest}") for reader in (YARD, DOCK)]

    assert (here.status_code, there.status_code) == (200, 404)
    assert there.content == (await world.ask(DOCK, "GET", f"/v1/assets/NONE-1{rest}")).content


async def test_a_history_goes_with_its_unit(world: World) -> None:
    """What happened at the first site is told to the second; to the first, of each event that was its own."""
    told = (await world.ask(YARD, "GET", f"/v1/assets/{MOVED}/history")).json()["events"]
    first = await world.ask(DOCK, "GET", f"/v1/events/{ident('both moved')}")
    later = await world.ask(DOCK, "GET", f"/v1/events/{ident('yard issued-mv')}")

    assert [event["kind"] for event in told] == ["registered", "moved", "received", "issued"]
    assert (first.status_code, later.status_code) == (200, 404)


@pytest.mark.parametrize(
    ("hours", "dock", "yard"),
    [(5, 200, 404), (3.5, 200, 404), (2.5, 404, 200), (1, 404, 200)],
    ids=("before it went", "on its way", "arrived", "issued there"),
)
async def test_the_past_of_a_unit_is_its_sites(world: World, hours: float, dock: int, yard: int) -> None:
    """Asked as of a moment, a unit is told to the site that it was counted with then, and as it was then."""
    asked = [
        await world.ask(reader, "GET", f"/v1/assets/{MOVED}", params={"as_at": ago(hours)}) for reader in (DOCK, YARD)
    ]

    assert [answered.status_code for answered in asked] == [dock, yard]


async def test_a_list_has_a_unit_once(world: World) -> None:
    """The unit stands in the lists of its site alone."""
    lists = [(await world.ask(reader, "GET", "/v1/assets")).json()["assets"] for reader in (DOCK, YARD)]

    assert [MOVED in {unit["tag"] for unit in units} for units in lists] == [False, True]


async def test_who_posts_for_a_unit_elsewhere_is_told_whether_it_may_be_used(world: World) -> None:
    """A repeat of one's own event tells whether the unit may be used now, wherever it is, and nothing else of it."""
    said = (await world.ask(DOCK, "GET", f"/v1/events/{ident('both moved')}")).json()
    added = ("seq", "recorded_at", "received_at", "sent_at", "conflicts", "time_doubts")
    posted = {name: value for name, value in said.items() if name not in added}
    there, here = [await world.ask(reader, "POST", "/v1/events", json=posted) for reader in (DOCK, MANAGER)]

    assert (there.status_code, here.status_code) == (200, 200)
    assert there.json()["asset"] == {
        "tag": MOVED,
        "phase": None,
        "standing": None,
        "do_not_use": here.json()["asset"]["do_not_use"],
        "reasons": [],
    }
    assert here.json()["asset"]["phase"] == "issued"
    assert not marks_in(everything(there))
