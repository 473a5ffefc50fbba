"""Every parameter and every form of every door that is read: nothing asked lets out what is not for the key."""

import httpx
import pytest

from service.domain.caller import Role
from service.domain.finding import REPORTS
from tests.separation.asking import nobodys, there, value_of
from tests.separation.doors import DOORS, EXPECTED, Door
from tests.separation.firm import HELD, SITES
from tests.separation.marks import Room, everything, mark, marks_in
from tests.separation.test_matrix import alike
from tests.separation.world import ROLES, Reader, World

READING = [door for door in DOORS.values() if door.method == "GET"]
LISTS = [door for door in READING if "limit" in door.parameters]
FORMS = ("application/json", "text/csv", "text/plain", "text/html", "text/event-stream", "*/*")
BOTH: tuple[Room | None, ...] = ("dock", None)
#: Doors that show no mark, since they tell of words, tags, moments and numbers alone.
PLAIN = {
    *("GET /v1/webhooks/{webhook_id}/deliveries", "GET /v1/webhooks/{webhook_id}/dead-letters"),
    *("GET /v1/assets/{tag}/standing", "GET /v1/assets/{tag}/label", "GET /v1/labels", "GET /v1/exceptions"),
}
#: What a role may not ask for, since the answer would tell what is kept from it.
KEPT = {("holder", "worker-representative")}
#: Parameters that say which of several things is meant, and find none here.
NARROWING = {("model", "GET /v1/policies/{ref}")}

every_reading = pytest.mark.parametrize("door", READING, ids=str)
every_list = pytest.mark.parametrize("door", LISTS, ids=str)


def readers(door: Door) -> list[Reader]:
    """Give keys of a site that the door answers, and one of the firm that reads no names: most is kept from them."""
    roles = [role for role in ROLES if EXPECTED[str(door)].roles[role] == 200]
    unnamed = [Reader("ours", role, site) for role in roles if role == "worker-representative" for site in BOTH]
    return [Reader("ours", roles[0], "dock"), *unnamed]


@every_reading
async def test_no_parameter_opens_a_door_further(world: World, door: Door) -> None:
    """Whatever is asked for beside the address, a key is told of its own alone."""
    for reader in readers(door):
        path, query = there(world, "ours", door, "dock")
        for name in set(door.parameters) - {"site", "after"}:
            answered = await world.ask(reader, "GET", path, params=query | {name: value_of(name, door)})
            status = 403 if (name, reader.role) in KEPT else 404 if (name, str(door)) in NARROWING else 200
            assert answered.status_code == status, answered.text


@pytest.mark.parametrize("door", [door for door in READING if "site" in door.parameters], ids=str)
async def test_a_site_out_of_reach_is_no_site(world: World, door: Door) -> None:
    """Asked for another site, a key of one site is told that there is none, as for one that nobody has."""
    for reader in (one for one in readers(door) if one.site is not None):
        path, query = there(world, "ours", door, "dock")
        own, *others = [
            await world.ask(reader, "GET", path, params=query | {"site": site})
            for site in (SITES["dock"], SITES["yard"], nobodys("ours"), "ONLY-theirs")
        ]
        assert own.status_code == 200
        assert {answered.status_code for answered in others} == {404}
        assert alike(others[0]) == alike(others[1]) == alike(others[2])


@every_reading
async def test_no_form_of_an_answer_tells_more(world: World, door: Door) -> None:
    """Asked for as JSON, a table or a page, an answer lets out nothing; what there is not is a 406."""
    for reader in readers(door):
        path, query = there(world, "ours", door, "dock")
        for form in FORMS:
            answered = await world.ask(reader, "GET", path, params=query, headers={"accept": form})
            assert answered.status_code in {200, 406}, answered.text


@every_list
async def test_pages_and_their_links_tell_no_more(world: World, door: Door) -> None:
    """Followed page by page, neither an item nor a cursor nor a link holds what is not for the key."""
    for reader in readers(door):
        path, query = there(world, "ours", door, "dock")
        after: str | None = None
        for _ in range(4):
            more = {} if after is None else {"after": after}
            answered = await world.ask(reader, "GET", path, params=query | {"limit": "1"} | more)
            assert answered.status_code == 200, answered.text
            after = answered.json()["next"]
            if after is None:
                break


@pytest.mark.parametrize("door", [door for door in READING if "region" in door.parameters], ids=str)
async def test_a_region_out_of_reach_is_no_region(world: World, door: Door) -> None:
    """Asked for the region of another site, a key of one site is told that there is none, as for one nobody has."""
    for reader in (one for one in readers(door) if one.site is not None):
        path, _ = there(world, "ours", door, "dock")
        own, *others = [
            await world.ask(reader, "GET", path, params={"region": region})
            for region in (mark("ours", "dock", "fact", "region"), mark("ours", "yard", "fact", "region"), "nowhere")
        ]
        assert own.status_code == 200
        assert {answered.status_code for answered in others} == {404}
        assert alike(others[0]) == alike(others[1])


@pytest.mark.parametrize("door", [door for door in READING if "model" in door.parameters], ids=str)
async def test_a_model_of_another_firm_is_no_model(world: World, door: Door) -> None:
    """Asked for the model of another firm, a key is told that there is none, as for one that nobody has."""
    path, query = there(world, "ours", door, "dock")
    for reader in readers(door):
        asked = [
            await world.ask(reader, "GET", path, params=query | {"model": model})
            for model in ("ONLY-theirs", nobodys("ours"))
        ]
        assert {answered.status_code for answered in asked} == {404}
        assert alike(asked[0]) == alike(asked[1])


@every_list
async def test_a_cursor_serves_the_reach_it_was_written_for(world: World, door: Door) -> None:
    """A cursor of another firm's key, of another role's, or of one bound otherwise is refused, and says nothing."""
    path, query = there(world, "ours", door, "dock")
    query |= {"limit": "1"}
    writers = [Reader("theirs", "administrator"), Reader("ours", "administrator"), Reader("ours", "site-lead", "yard")]
    asked = [await world.ask(writer, "GET", path, params=query) for writer in writers]
    cursors = [answered.json()["next"] for answered in asked if answered.status_code == 200]
    written = [cursor for cursor in cursors if cursor is not None]
    assert written, "nobody was given a cursor"

    role: Role = "auditor" if EXPECTED[str(door)].roles["auditor"] == 200 else "integrator"
    for cursor in written:
        answered = await world.ask(Reader("ours", role, "dock"), "GET", path, params=query | {"after": cursor})
        assert (answered.status_code, answered.json()["type"]) == (400, "/problems/bad-cursor")


@every_reading
async def test_what_is_looked_for_is_there(world: World, door: Door) -> None:
    """Every door shows marks to who may see them, so that not finding them elsewhere says something."""
    path, query = there(world, "ours", door, "dock")
    query |= {"limit": "500"} if "limit" in door.parameters else {}
    answered: httpx.Response = await world.ask(Reader("ours", "administrator"), "GET", path, params=query)

    assert bool(marks_in(everything(answered))) is (str(door) not in PLAIN)


@pytest.mark.parametrize("report", REPORTS)
async def test_no_report_tells_of_another_site(world: World, report: str) -> None:
    """Each report of exceptions tells a key of a site about that site alone, and the firm's key about both.

    Of a unit that is elsewhere both are told the same rows, in other words (test_elsewhere).
    """
    path = f"/v1/exceptions/{report}"
    of_site, of_firm = [
        (await world.ask(reader, "GET", path)).json()["rows"]
        for reader in (Reader("ours", "site-lead", "dock"), Reader("ours", "manager"))
    ]

    assert {row["site"] for row in of_site} <= {SITES["dock"]}
    both = [row for row in of_firm if row["site"] == SITES["dock"]]
    assert [row["row"] for row in both] == [row["row"] for row in of_site]
    assert [row for row in both if row["asset"] != HELD] == [row for row in of_site if row["asset"] != HELD]
