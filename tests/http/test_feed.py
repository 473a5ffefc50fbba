"""The feed of events."""

import httpx

from tests.http.doors import FOREIGN
from tests.http.firm import checked, issued, registered
from tests.http.keys import Keys

Headers = dict[str, str]


async def test_the_feed_has_every_event_in_its_order(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """The feed counts from 1 without a gap, and each event is told as it was posted with what the service added."""
    said = issued()
    await firm.post("/v1/events", json=said, headers=administrator)
    events = (await firm.get("/v1/events", headers=administrator)).json()["events"]

    assert [event["seq"] for event in events] == [1, 2, 3, 4, 5]
    assert [event["kind"] for event in events] == [
        "site-defined",
        "site-defined",
        "model-defined",
        "registered",
        "issued",
    ]
    assert {"received_at", "recorded_at"} <= set(events[-1])
    assert {name: events[-1][name] for name in ("id", "kind", "by", "asset", "holder")} == {
        "id": said["id"],
        "kind": "issued",
        "by": "p-3071",
        "asset": "FX-0142",
        "holder": {"person": "p-3071"},
    }


async def test_a_reader_comes_back_for_more(firm: httpx.AsyncClient, administrator: Headers) -> None:
    """`next` is given at the end of the feed too; what comes later is read from there, or from a seq."""
    seen = (await firm.get("/v1/events?limit=3", headers=administrator)).json()
    rest = (await firm.get("/v1/events", params={"after": seen["next"]}, headers=administrator)).json()
    nothing = (await firm.get("/v1/events", params={"after": rest["next"]}, headers=administrator)).json()
    await firm.post("/v1/events", json=issued(), headers=administrator)
    more = (await firm.get("/v1/events", params={"after": nothing["next"]}, headers=administrator)).json()
    same = (await firm.get("/v1/events?after=4", headers=administrator)).json()

    assert [len(page["events"]) for page in (seen, rest, nothing)] == [3, 1, 0]
    assert [event["seq"] for event in more["events"]] == [event["seq"] for event in same["events"]] == [5]


async def test_a_place_that_the_log_has_not_come_to_is_refused(
    firm: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """A cursor of a log that went further, as before a restore, passes over nothing: its reader is to begin anew."""
    foreign = await keys.make("administrator", organisation=FOREIGN)
    cursor = (await firm.get("/v1/events", headers=administrator)).json()["next"]
    asks: list[tuple[str, dict[str, str], Headers]] = [
        ("/v1/events", {"after": "5"}, {}),
        ("/v1/events", {"after": "5", "kind": "issued", "wait": "1"}, {}),
        ("/v1/events/stream", {"after": "5"}, {}),
        ("/v1/events/stream", {}, {"last-event-id": "5"}),
    ]
    told = [await firm.get(path, params=asked, headers=administrator | said) for path, asked, said in asks]
    at_the_end = await firm.get("/v1/events", params={"after": cursor}, headers=administrator)
    theirs = await firm.get("/v1/events", params={"after": "4"}, headers=foreign)

    assert [(one.status_code, one.json()["type"]) for one in told] == [(409, "/problems/cursor-ahead")] * 4
    assert told[0].json()["detail"].startswith("This log goes to 4, and 5 was read from another")
    assert (at_the_end.status_code, at_the_end.json()["events"]) == (200, [])
    assert (theirs.status_code, theirs.json()["detail"][:24]) == (409, "This log goes to 0, and ")


async def test_a_key_of_a_site_reads_its_own_events(
    firm: httpx.AsyncClient, keys: Keys, administrator: Headers
) -> None:
    """A key bound to a site sees the events of that site alone, and follows the feed over the hidden ones."""
    east = await keys.make("site-app", ["east-yard"])
    for said in (registered("FX-0500", site="east-yard"), issued(site="harrow-dock"), checked(site="harrow-dock")):
        assert (await firm.post("/v1/events", json=said, headers=administrator)).status_code == 201
    seen, after = [], "0"
    for _ in range(8):
        page = (await firm.get("/v1/events", params={"after": after, "limit": "1"}, headers=east)).json()
        seen += [(event["kind"], event["site"]) for event in page["events"]]
        after = page["next"]

    assert {site for _, site in seen} == {"east-yard"}
    assert ("registered", "east-yard") in seen


async def test_another_firm_sees_nothing(firm: httpx.AsyncClient, keys: Keys, administrator: Headers) -> None:
    """A key of another firm finds an empty feed, and our event nowhere."""
    foreign = await keys.make("administrator", organisation=FOREIGN)
    ours = (await firm.get("/v1/events", headers=administrator)).json()["events"][0]["id"]

    assert (await firm.get("/v1/events", headers=foreign)).json()["events"] == []
    assert (await firm.get(f"/v1/events/{ours}", headers=foreign)).status_code == 404
    assert (await firm.get(f"/v1/events/{ours}", headers=administrator)).status_code == 200
