"""Histories handed on: who gets them, and what is in none of them."""

import pytest

from service.domain.codec import SEALED
from tests.separation.doors import EXPECTED
from tests.separation.firm import MOVED, TAGS
from tests.separation.marks import everything, marks_in
from tests.separation.world import READERS, Reader, World

EPCIS = {"accept": "application/ld+json"}
DOOR = EXPECTED["GET /v1/assets/{tag}/history"]


@pytest.mark.parametrize("reader", READERS, ids=str)
async def test_a_history_is_handed_on_to_those_who_read_it(world: World, reader: Reader) -> None:
    """Whom the history is told, it is handed on to, without any person, device or text, whoever asks."""
    for tag in (*TAGS.values(), MOVED):
        path = f"/v1/assets/{tag}/history"
        plain = await world.ask(reader, "GET", path)
        answered = await world.ask(reader, "GET", path, headers=EPCIS)

        assert answered.status_code == plain.status_code
        assert {mark.sort for mark in marks_in(everything(answered))} <= {"fact"}
        assert SEALED not in answered.text


async def test_the_doors_table_is_that_of_the_history(world: World) -> None:
    """Every role is answered as the table of doors says of the history."""
    for reader in READERS:
        answered = await world.ask(reader, "GET", f"/v1/assets/{TAGS[reader.site or 'dock']}/history", headers=EPCIS)
        assert answered.status_code == DOOR.roles[reader.role], reader


async def test_what_is_handed_on_tells_of_the_unit(world: World) -> None:
    """There is something in it: a manager's document has the unit and what happened to it, and no person."""
    answered = await world.ask(Reader("ours", "manager"), "GET", "/v1/assets/DK-1/history", headers=EPCIS)
    kinds = {event["respirators:kind"] for event in answered.json()["epcisBody"]["eventList"]}

    assert {"registered", "issued", "examined"} <= kinds
    assert marks_in(everything(answered))
