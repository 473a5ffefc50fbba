"""Recalls: a key is told of its own units, stock and people, whatever lot of another site or firm it names."""

from typing import Any

import pytest

from tests.separation.firm import SITES, TAGS
from tests.separation.marks import Room
from tests.separation.world import Reader, World


async def previewed_by(world: World, reader: Reader) -> Any:
    """Ask what a recall of every lot and serial number would reach: all are marks, and in a range that names none."""
    criteria = [{"lot_from": "mark", "lot_to": "n"}, {"serial_from": "mark", "serial_to": "n"}]
    answered = await world.ask(reader, "POST", "/v1/recalls/preview", json={"criteria": criteria})
    assert answered.status_code == 200, answered.text
    return answered.json()


@pytest.mark.parametrize("room", ["dock", "yard"])
async def test_asked_for_every_lot_a_key_of_a_site_is_told_of_its_own(world: World, room: Room) -> None:
    """Whatever lots and serial numbers are named, what another site has is as if not there."""
    told = await previewed_by(world, Reader("ours", "site-lead", room))

    assert TAGS[room] in {one["asset"] for one in told["units"]}
    assert {one["site"] for one in (*told["units"], *told["stock"], *told["sites"])} == {SITES[room]}
    whole = await previewed_by(world, Reader("ours", "manager"))
    assert {one["site"] for one in whole["units"]} == set(SITES.values())


async def test_impact_of_one_recall_is_each_firms_own(world: World) -> None:
    """Both firms have a recall of the same name: each is told what it did to its own units."""
    for room in ("dock", "yard"):
        told = (await world.ask(Reader("ours", "site-lead", room), "GET", "/v1/recalls/rc-1/impact")).json()
        assert {one["site"] for one in told["units"]} == {SITES[room]}
        assert {one["site"] for one in told["progress"]} == {SITES[room]}
        notice = await world.ask(Reader("ours", "site-lead", room), "GET", "/v1/recalls/rc-1/notice")
        assert notice.text.count("<section>") == 1


async def test_a_recall_names_nobody_to_a_representative(world: World) -> None:
    """Who had and wore a unit meanwhile is withheld, in the table and on the notice too."""
    reader = Reader("ours", "worker-representative")
    told = (await world.ask(reader, "GET", "/v1/recalls/rc-1/impact")).json()
    table = await world.ask(reader, "GET", "/v1/recalls/rc-1/impact", headers={"accept": "text/csv"})
    notice = await world.ask(reader, "GET", "/v1/recalls/rc-1/notice")

    hands = [hand["holder"] for one in told["units"] for hand in one["hands"]]
    assert hands
    assert all(holder == {"person": "withheld"} for holder in hands)
    assert {one["person"] for unit in told["units"] for one in unit["wearers"]} == {"withheld"}
    assert ("withheld" in table.text, "person withheld" in notice.text) == (True, True)
