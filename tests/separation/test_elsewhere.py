"""What one site does with a unit of another: it has its own events, and learns nothing of why they contradict."""

import pytest

from tests.separation.firm import HELD, SITES, ident
from tests.separation.marks import WORDS, words_in
from tests.separation.world import Reader, World

DOCK, YARD, MANAGER = (
    Reader("ours", "site-lead", "dock"),
    Reader("ours", "site-lead", "yard"),
    Reader("ours", "manager"),
)
ADDED = ("seq", "recorded_at", "received_at", "sent_at", "conflicts", "time_doubts")
EVENTS = ("both worn-q", "both freed-q")


@pytest.mark.parametrize("name", EVENTS)
async def test_an_event_is_read_without_what_it_contradicts_there(world: World, name: str) -> None:
    """The site that posted reads its event and posts it again: what the unit's own site found is told to the firm."""
    path = f"/v1/events/{ident(name)}"
    read = await world.ask(DOCK, "GET", path)
    said = {member: value for member, value in read.json().items() if member not in ADDED}
    again = await world.ask(DOCK, "POST", "/v1/events", json=said)
    whole = await world.ask(MANAGER, "GET", path)

    assert (read.status_code, again.status_code, whole.status_code) == (200, 200, 200)
    assert again.json()["conflicts"] == read.json()["conflicts"]
    assert (again.json()["asset"]["phase"], again.json()["asset"]["do_not_use"]) == (None, True)
    assert words_in(whole.content, "ours")


async def test_the_report_of_conflicts_has_the_rows_of_a_site_without_the_words_of_another(world: World) -> None:
    """The site that posted is listed the firm's rows; the office alone reads what the unit is held for."""
    path = "/v1/exceptions/conflicting-history"
    own, whole = [(await world.ask(reader, "GET", path, params={"site": SITES["dock"]})) for reader in (DOCK, MANAGER)]
    rows = [row["row"] for row in own.json()["rows"]]

    assert {ident(name) for name in EVENTS} <= set(rows)
    assert rows == [row["row"] for row in whole.json()["rows"]]
    assert {mark.text for mark in words_in(whole.content, "ours")} == set(WORDS["yard"])


async def test_the_site_of_a_unit_reads_what_others_did_with_it(world: World) -> None:
    """The history of a unit goes to the site where it is, with all that it contradicts."""
    told = await world.ask(YARD, "GET", f"/v1/assets/{HELD}/history")
    codes = [conflict["code"] for event in told.json()["events"] for conflict in event["conflicts"]]

    assert {"worn-while-quarantined", "not-received", "released-without-ground", "unit-of-another-site"} <= set(codes)
