"""Who has no key, or one that is none, and who asks otherwise than by GET."""

import httpx
import pytest

from tests.separation.asking import absent, there
from tests.separation.doors import EVERY, EXPECTED, Door, Expected
from tests.separation.marks import everything, marks_in
from tests.separation.test_matrix import alike, every_door
from tests.separation.world import Reader, World

READING = [door for door in EVERY.values() if door.method == "GET"]
ANYONE = Expected({}, None, None)
ASKING = (Reader("ours", "manager"), Reader("ours", "auditor", "dock"), Reader("ours", "worker-representative", "dock"))


async def ask_as(world: World, headers: dict[str, str], method: str, path: str, **query: str) -> httpx.Response:
    """Ask with whatever stands for a key."""
    return await world.http.request(method, path, params=query, headers=headers)


@every_door
async def test_what_is_no_key_is_refused_alike(world: World, door: Door) -> None:
    """A revoked, an expired, a garbled and an unknown key get the same bytes at every door, whatever is behind it."""
    path, _ = there(world, "ours", door, "dock")
    refused = await ask_as(world, world.dead["unknown"], "GET", "/v1/events")
    assert (refused.status_code, refused.json()["type"]) == (401, "/problems/invalid-key")

    for headers in world.dead.values():
        for asked in (path, absent(world, "ours", door, "never")):
            assert alike(await ask_as(world, headers, door.method, asked)) == alike(refused), (door, headers)


@every_door
async def test_nobody_is_told_anything(world: World, door: Door) -> None:
    """Without a key every door answers the same 401, whatever is behind it and whatever is asked."""
    path, _ = there(world, "ours", door, "dock")
    refused = await ask_as(world, {}, "GET", "/v1/events")
    assert (refused.status_code, refused.json()["type"]) == (401, "/problems/unauthenticated")

    assert alike(await ask_as(world, {}, door.method, path)) == alike(refused)
    assert alike(await ask_as(world, {}, door.method, f"{path}?colour=red")) == alike(refused)
    assert alike(await ask_as(world, {}, door.method, absent(world, "ours", door, "never"))) == alike(refused)


OPEN = [door.path.format(code="forbidden") for door in EVERY.values() if door.is_open]


@pytest.mark.parametrize("path", [*OPEN, "/openapi.json"])
async def test_an_open_door_tells_of_no_firm(world: World, path: str) -> None:
    """What needs no key says the same to everyone, and nothing of any firm."""
    asked = [await ask_as(world, headers, "GET", path) for headers in ({}, world.keys[ASKING[0]])]

    assert [answered.status_code for answered in asked] == [200, 200]
    assert asked[0].content == asked[1].content
    assert not marks_in(everything(asked[1]))


@pytest.mark.parametrize("door", READING, ids=str)
async def test_a_head_is_told_what_a_get_is(world: World, door: Door) -> None:
    """HEAD has the status and the headers of GET and no body, about what is there and what is out of reach."""
    for reader in ASKING:
        for room in ("dock", "yard"):
            path, query = there(world, "ours", door, room)
            got = await world.ask(reader, "GET", path, params=query)
            head = await world.ask(reader, "HEAD", path, params=query)
            assert (head.status_code, head.content) == (got.status_code, b""), (reader, path)
            assert set(head.headers) == set(got.headers), (reader, path)


@every_door
async def test_methods_are_told_without_looking(world: World, door: Door) -> None:
    """OPTIONS tells the methods of an address to anyone, and the same whether anything is there or not."""
    path, _ = there(world, "ours", door, "dock")
    answers = [
        await ask_as(world, headers, "OPTIONS", asked)
        for headers in ({}, world.keys[ASKING[0]], world.dead["revoked"])
        for asked in (path, absent(world, "ours", door, "never"), absent(world, "ours", door, "foreign"))
    ]

    assert {answered.status_code for answered in answers} == {204}
    assert door.method in answers[0].headers["allow"]
    assert {answered.headers["allow"] for answered in answers} == {answers[0].headers["allow"]}
    assert not any(marks_in(everything(answered)) for answered in answers)


async def test_what_is_foreign_is_there(world: World) -> None:
    """What the matrix takes for another firm's is really there, for that firm."""
    office = Reader("theirs", "administrator")
    doors = [door for door in READING if EXPECTED.get(str(door), ANYONE).nowhere == 404 and "{report}" not in door.path]
    found = [await world.ask(office, "GET", absent(world, "ours", door, "foreign")) for door in doors]

    assert {answered.status_code for answered in found} == {200}
    assert len(doors) >= 11
