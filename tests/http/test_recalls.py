"""Recalls themselves: which there are, as they were opened, taken back and closed, and who may read of them."""

import csv
import io
import re

import httpx
import pytest

from tests.http.doors import FOREIGN
from tests.http.firm import Headers, ago, message, post
from tests.http.keys import Keys
from tests.http.recall_firm import BAD, closed, fleet, impact, opened, swap, units

__all__ = ["fleet"]


async def test_recalls_are_listed_as_they_were_opened_and_closed(
    fleet: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """Each is told with its criteria, its notice and its moments; one that was opened later than asked is not there."""
    void = opened({"hours": 1}, "rc-0", action="inspect", due_on="2199-12-31")
    await post(fleet, administrator, void, opened({"minutes": 5}, "rc-2", rehearsal=True))
    await post(
        fleet,
        await keys.make("manager"),
        message("voided", event=void["id"], reason="wrong lot", by="p-2", occurred_at=ago(minutes=30)),
        closed("FX-1", "FX-3", "YD-1", minutes=20),
    )
    answered = await fleet.get("/v1/recalls", headers=administrator, params={"as_at": ago(minutes=10)})
    told = answered.json()["recalls"]

    assert [(one["recall"], one["action"], one["due_on"], one["notice"]) for one in told] == [
        ("rc-0", "inspect", "2199-12-31", None),
        ("rc-1", "stop-use", None, "cracked housings"),
    ]
    assert [(one["closed_at"] is None, one["voided_at"] is None, one["rehearsal"]) for one in told] == [
        (True, False, False),
        (False, True, False),
    ]
    assert told[1]["criteria"] == [{"item": "pf-170", "lot": BAD}]
    earlier = await fleet.get("/v1/recalls", headers=administrator, params={"as_at": ago(minutes=40)})
    assert [one["voided_at"] for one in earlier.json()["recalls"]] == [None, None]


async def test_the_list_goes_on_page_by_page_and_as_a_table(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """One recall a page leads to the next; as a table a notice that looks like a formula is none."""
    await post(fleet, administrator, opened({"hours": 1}, "rc-2", notice="=HYPERLINK(1)"))
    first = await fleet.get("/v1/recalls", headers=administrator, params={"limit": "1"})
    second = await fleet.get("/v1/recalls", headers=administrator, params={"limit": "1", "after": first.json()["next"]})
    table = await fleet.get("/v1/recalls", headers=administrator | {"accept": "text/csv"})

    assert [one["recall"] for one in (*first.json()["recalls"], *second.json()["recalls"])] == ["rc-1", "rc-2"]
    assert second.json()["next"] is None
    rows = list(csv.DictReader(io.StringIO(table.text.removeprefix("\ufeff"))))
    assert [(row["recall"], row["notice"]) for row in rows] == [
        ("rc-1", "cracked housings"),
        ("rc-2", "'=HYPERLINK(1)"),
    ]


async def test_a_recall_not_yet_opened_or_known_is_none(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """Before its opening, before it was recorded, and under another name there is none."""
    asked: list[tuple[str, dict[str, str]]] = [
        ("rc-1", {"as_at": ago(hours=3)}),
        ("rc-1", {"known_at": ago(hours=1)}),
        ("rc-404", {}),
    ]
    for recall, moments in asked:
        for door in ("impact", "notice"):
            answered = await fleet.get(f"/v1/recalls/{recall}/{door}", headers=administrator, params=moments)
            assert (answered.status_code, answered.json()["type"]) == (404, "/problems/not-found")


@pytest.mark.parametrize("door", ["", "/rc-1/impact", "/rc-1/notice"])
async def test_roles_that_read_no_summary_are_refused(fleet: httpx.AsyncClient, keys: Keys, door: str) -> None:
    """Site apps and integrators are refused; another firm's key finds no such recall."""
    for role in ("site-app", "integrator"):
        key = await keys.make(role)
        answered = await fleet.get(f"/v1/recalls{door}", headers=key)
        assert (answered.status_code, answered.json()["type"]) == (403, "/problems/forbidden")
    theirs = await fleet.get(f"/v1/recalls{door}", headers=await keys.make("administrator", organisation=FOREIGN))
    assert (theirs.status_code, theirs.json().get("recalls")) == ((404, None) if door else (200, []))


async def test_opened_in_earnest_a_rehearsal_asks_nothing_more(
    fleet: httpx.AsyncClient, administrator: Headers
) -> None:
    """Of a recall that was rehearsed under the same name only the opening in earnest counts."""
    await post(
        fleet,
        administrator,
        opened({"minutes": 50}, "rc-3", rehearsal=True, criteria=[{"item": "bat-64"}]),
        opened({"minutes": 40}, "rc-3", criteria=[{"item": "pf-170", "lot": "L9"}]),
    )
    told = await impact(fleet, administrator, "rc-3")

    assert (told["recall"]["rehearsal"], told["rehearsal"]) == (False, None)
    assert told["recall"]["criteria"] == [{"item": "pf-170", "lot": "L9"}]
    assert list(units(told)) == ["FX-2", "FX-3", "FX-4"]


async def test_a_voided_recall_keeps_what_it_reached(
    fleet: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """Voided, it is told so, and what had the lot by then stays under it; what comes in later does not."""
    events = (await fleet.get("/v1/events", headers=administrator)).json()["events"]
    (one,) = (event["id"] for event in events if event["kind"] == "recall-opened")
    void = message("voided", event=one, reason="wrong lot", by="p-2", occurred_at=ago(minutes=50))
    await post(fleet, await keys.make("manager"), void)
    await post(fleet, administrator, swap("FX-4", {"minutes": 40}, BAD))
    told = await impact(fleet, administrator)

    assert told["recall"]["voided_at"] is not None
    assert [(tag, found["affected"]) for tag, found in units(told).items()] == [
        ("FX-1", True),
        ("FX-2", False),
        ("FX-3", True),
        ("FX-4", False),
        ("YD-1", True),
    ]


async def test_of_several_openings_the_strictest_that_stands_is_told(
    fleet: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """Opened again to inspect another lot, it asks to stop; with that taken back, the other lot is not meant.

    What that had reached is to be inspected still, and the notice says why.
    """
    again = opened({"hours": 1}, action="inspect", due_on="2199-12-24", criteria=[{"item": "pf-170", "lot": "L9"}])
    await post(fleet, administrator, again)

    async def told() -> list[tuple[str, None, int]]:
        listed = await fleet.get("/v1/recalls", headers=administrator)
        every = [*listed.json()["recalls"], (await impact(fleet, administrator))["recall"]]
        return [(one["action"], one["due_on"], len(one["criteria"])) for one in every]

    assert await told() == [("stop-use", None, 2)] * 2
    void = message("voided", event=again["id"], reason="wrong lot", by="p-2", occurred_at=ago(minutes=10))
    await post(fleet, await keys.make("manager"), void)
    assert await told() == [("stop-use", None, 1)] * 2
    page = await fleet.get("/v1/recalls/rc-1/notice", headers=administrator)
    assert "Stop using these units at once" in page.text
    why = page.text[: page.text.index("What to do")]
    assert re.search(r"It was taken back on [^<]*</p>\s*<p>[^<]*</p>\s*<ul>\s*<li>item pf-170, lot L9", why)
    assert why.count("taken back") == 1
    openings = (await impact(fleet, administrator))["recall"]["openings"]
    assert [one["voided_at"] for one in openings] == [None, void["occurred_at"].replace("+00:00", "Z")]
    assert page.text.count("inspect each of these units, by 2199-12-24") == 2
