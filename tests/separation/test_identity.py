"""Ids and names that others use: nobody finds out by posting what they may not read."""

from typing import Any
from uuid import uuid4

from tests.separation.asking import UNKNOWN
from tests.separation.firm import SITES, Sayings, at_site, ident
from tests.separation.test_matrix import alike
from tests.separation.world import Reader, World

LEAD = Reader("ours", "site-lead", "dock")


async def posted(world: World, message: dict[str, Any], reader: Reader = LEAD) -> Any:
    """Post as the dock's lead."""
    return await world.ask(reader, "POST", "/v1/events", json=message)


def stock(**fields: Any) -> dict[str, Any]:
    """Receive stock at the dock."""
    said = at_site("ours", "dock").say("again", "stock-received", item="pf-170", quantity=1.0, unit="EA")
    return said | {"id": str(uuid4())} | fields


async def test_an_id_of_another_site_is_a_bare_conflict(world: World) -> None:
    """An id that another site's event has is a 409 in the very bytes of one that one's own event has (decision 2)."""
    theirs, own = [await posted(world, stock(id=ident(f"{room} stock"))) for room in ("yard", "dock")]

    assert (theirs.status_code, theirs.json()["type"]) == (409, "/problems/content-clash")
    assert set(theirs.json()) == {"type", "title", "status", "detail", "errors", "rejected"}
    assert alike(theirs) == alike(own)


async def test_an_event_of_another_site_is_not_repeated(world: World) -> None:
    """The very message of another site is refused as one of that site, and told nothing of the event it repeats."""
    said = (await world.ask(Reader("ours", "administrator"), "GET", f"/v1/events/{ident('yard stock')}")).json()
    added = ("seq", "recorded_at", "received_at", "sent_at", "conflicts", "time_doubts")
    again = await posted(world, {name: value for name, value in said.items() if name not in added})

    assert (again.status_code, again.json()["type"]) == (403, "/problems/site-not-allowed")


async def test_an_id_of_another_firm_is_free(world: World) -> None:
    """An id that only another firm's event has is as good as any new one."""
    taken = str(uuid4())
    office = Reader("theirs", "administrator")
    first = await posted(world, Sayings("theirs", "office").say("id", "stock-received") | {"id": taken} | STOCK, office)
    second = await posted(world, stock(id=taken))

    assert (first.status_code, second.status_code) == (201, 201)
    assert second.json()["outcome"] == "recorded"


STOCK = {"site": SITES["dock"], "item": "pf-170", "quantity": 1.0, "unit": "EA"}


async def test_what_another_firm_has_is_not_defined(world: World) -> None:
    """A tag, a model or an event that only another firm has waits to be defined, as one that nobody has."""
    own = at_site("ours", "dock")
    for fields in (
        [own.of(tag, "wiped", "cleaned", scope="unit", method="wiped") for tag in ("ONLY-theirs", "NONE-theirs")],
        [own.registered("DK-9") | {"model": model} for model in ("ONLY-theirs", "NONE-theirs")],
        [own.say("slip", "voided", event=event, reason="a slip") for event in (ident("dock only-theirs"), UNKNOWN)],
    ):
        foreign, never = [await posted(world, message | {"id": str(uuid4())}) for message in fields]
        assert (foreign.status_code, foreign.json()["type"]) == (422, "/problems/unknown-reference")
        assert alike(foreign) == alike(never)


async def test_a_serial_of_another_firm_is_no_conflict(world: World) -> None:
    """A maker's serial that another firm has on record continues nothing of it."""
    serial = "mark.ours.dock.fact.shared-serial"
    for firm in ("theirs", "ours"):
        said = Sayings(firm, "dock", SITES["dock"]).registered("SH-1") | {"serial": serial.replace("ours", "shared")}
        answered = await posted(world, said, Reader(firm, "administrator"))
        assert (answered.status_code, answered.json()["conflicts"]) == (201, [])
