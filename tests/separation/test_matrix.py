"""Every door, asked by every role of both firms, bound to a site or not: whom it answers, and what it lets out.

Each request also fails the test if its answer, headers and all, holds a mark that is not for the key (`World.ask`).
"""

import re

import httpx
import pytest

from tests.separation.asking import ask, ask_absent, is_shared
from tests.separation.doors import DOORS, EVERY, EXPECTED, NAMES, Door
from tests.separation.marks import Room
from tests.separation.world import READERS, Reader, World

every_door = pytest.mark.parametrize("door", DOORS.values(), ids=str)
FRESH = re.compile(
    rb"(ONLY|NONE)-(ours|theirs)|[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}|service-level|acceptance|cleaning"
)
ITS_OWN = {b"x-request-id", b"traceresponse", b"date", b"ratelimit"}
"""Headers in which no two answers are alike."""
OTHER: dict[Room | None, Room] = {"dock": "yard", "yard": "dock"}


def test_every_door_has_its_row() -> None:
    """The table speaks of each door that the OpenAPI document lists and of no other, and of which need a key."""
    assert sorted(NAMES) == sorted(EVERY)
    assert sorted(EXPECTED) == sorted(DOORS)


@every_door
async def test_roles_are_answered_about_their_own(world: World, door: Door) -> None:
    """A door answers the roles meant for it about what their keys reach, and every other with 403."""
    expected = EXPECTED[str(door)]
    for reader in READERS:
        status = expected.roles[reader.role]
        if door.method == "PUT" and is_shared(door) and reader.site is not None:
            status = 403
        answered = await ask(world, reader, door, reader.site or "dock")
        assert answered.status_code == status, (reader, answered.text)


@every_door
async def test_another_site_is_out_of_reach(world: World, door: Door) -> None:
    """A key bound to one site gets nothing of another: 404 where it reads, 403 where it writes."""
    expected = EXPECTED[str(door)]
    for reader in meant_for(door):
        if reader.site is not None and expected.elsewhere is not None:
            answered = await ask(world, reader, door, OTHER[reader.site])
            assert answered.status_code == expected.elsewhere, (reader, answered.text)


@every_door
async def test_another_firms_is_as_if_it_never_was(world: World, door: Door) -> None:
    """What another firm has is answered in the very bytes that answer for what nobody ever had."""
    expected = EXPECTED[str(door)]
    for reader in meant_for(door):
        if expected.nowhere is None or reader.site == "yard":
            continue
        status = expected.nowhere
        if reader.site is not None and door.method != "GET" and expected.elsewhere == 403:
            status = 403
        never, foreign = [await ask_absent(world, reader, door, which) for which in ("never", "foreign")]
        assert never.status_code == status, (reader, never.text)
        assert alike(foreign) == alike(never), reader


def meant_for(door: Door) -> list[Reader]:
    """Give the readers whose role the door answers; that others are turned away first is told above."""
    return [reader for reader in READERS if EXPECTED[str(door)].roles[reader.role] != 403]


def alike(answered: httpx.Response) -> tuple[int, bytes, list[tuple[bytes, bytes]]]:
    """Give an answer without what is new in every one: ids, the moment, and the name that the sender asked for."""
    headers = [header for header in answered.headers.raw if header[0].lower() not in ITS_OWN]
    return answered.status_code, FRESH.sub(b"-", answered.content), headers
