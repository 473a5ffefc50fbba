"""What is scanned: a key is told of its own units, whatever code of another site or firm it is shown."""

import pytest

from tests.http.doors import FOREIGN, OURS
from tests.separation.asking import codes
from tests.separation.firm import SITES, TAGS, at_site
from tests.separation.marks import Room
from tests.separation.world import Reader, World

WHERE = "/v1/scans/interpretation"


async def found(world: World, reader: Reader, scans: list[str]) -> list[list[str]]:
    """Scan, and give the tags that each scan was told to be."""
    answered = await world.ask(reader, "POST", WHERE, json={"scans": scans})
    assert answered.status_code == 200, answered.text
    return [[unit["tag"] for unit in told["assets"]] for told in answered.json()["scans"]]


@pytest.mark.parametrize(("room", "other"), [("dock", "yard"), ("yard", "dock")])
async def test_codes_of_another_site_find_nothing(world: World, room: Room, other: Room) -> None:
    """Tag, serial number and lot of another site's unit name nothing to a key of one site; its own do."""
    reader = Reader("ours", "site-app", room)
    own, others = codes("ours", room), codes("ours", other)

    assert all(TAGS[room] in tags for tags in await found(world, reader, own))
    assert [tags for tags in await found(world, reader, others) if TAGS[other] in tags] == []


async def test_codes_of_another_firm_are_as_if_nobody_had_them(world: World) -> None:
    """Another firm's serial numbers, lots and labels find nothing, and a label of ours finds ours."""
    office = Reader("ours", "administrator")
    theirs = [*codes("theirs", "dock")[1:], f"https://id.example.com/{FOREIGN}/DK-1", "ONLY-theirs"]

    assert await found(world, office, theirs) == [[], [], [], []]
    assert await found(world, office, [f"https://id.example.com/{OURS}/DK-1"]) == [["DK-1"]]


@pytest.mark.parametrize(("room", "other"), [("dock", "yard"), ("yard", "dock")])
async def test_stock_of_another_site_is_as_if_not_there(world: World, room: Room, other: Room) -> None:
    """A key of one site is told of the stock of its own lots, and not of those that lie elsewhere."""
    lots = [at_site("ours", where).mark("fact", "lot-stock") for where in (room, other)]
    answered = await world.ask(Reader("ours", "site-app", room), "POST", WHERE, json={"scans": lots})

    assert [[one["site"] for one in told["stock"]] for told in answered.json()["scans"]] == [[SITES[room]], []]


async def test_a_scan_names_nobody(world: World) -> None:
    """A worker representative reads which unit it is: nothing told of a scan is about a person."""
    assert await found(world, Reader("ours", "worker-representative"), ["DK-1"]) == [["DK-1"]]
