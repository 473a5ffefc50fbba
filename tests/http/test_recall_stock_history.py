"""The history of a recall's stock, handed on behind that of its units."""

from typing import Any

import httpx

from tests.http.firm import Headers, Message, ago, message, post
from tests.http.keys import Keys
from tests.http.recall_firm import BAD, fleet, stocked
from tests.http.test_recall_lists import CSV, EPCIS, lines
from tests.outbound.schema import faults

__all__ = ["fleet"]
HISTORY = "/v1/recalls/rc-1/history"
LOT = {"item": "pf-170", "unit": "C62", "lot": BAD}


def told_of_stock() -> list[Message]:
    """Tell of stock: some of the lot came, went to the yard and was thrown away; some of another lot came, too."""
    dock = {"site": "harrow-dock", **LOT}
    return [
        message("stock-received", **dock, quantity=40.0, order="PO-7", expires="2029-05", occurred_at=ago(hours=25)),
        message("stock-received", **(dock | {"lot": "L9"}), quantity=9.0, occurred_at=ago(hours=24)),
        message("stock-moved", **dock, to_site="east-yard", quantity=12.0, occurred_at=ago(hours=23)),
        message("stock-discarded", **dock, quantity=5.0, reason="recall", occurred_at=ago(minutes=30)),
    ]


async def document(http: httpx.AsyncClient, headers: Headers, **asked: str) -> Any:
    """Ask for the recall's history as EPCIS has it."""
    answered = await http.get(HISTORY, params=asked, headers=headers | EPCIS)
    assert answered.status_code == 200, answered.text
    return answered.json()


def of_stock(document: Any) -> list[Any]:
    """Give the events of a document that tell of stock."""
    return [event for event in document["epcisBody"]["eventList"] if event["respirators:kind"].startswith("stock-")]


def words(events: list[Any]) -> list[tuple[str, str, str | None, str, float]]:
    """Give kind, step, disposition, action and quantity."""
    return [
        (
            event["respirators:kind"],
            event["bizStep"],
            event.get("disposition"),
            event["action"],
            event["quantityList"][0]["quantity"],
        )
        for event in events
    ]


async def table(http: httpx.AsyncClient, headers: Headers, **asked: str) -> list[tuple[str, str, str]]:
    """Ask for the recall's history as a table, and give what of it tells of stock: kind, site and the rest."""
    answered = await http.get(HISTORY, params=asked, headers=headers | CSV)
    assert answered.status_code == 200, answered.text
    return [(one["kind"], one["site"], one["voided_by"]) for one in lines(answered) if not one["asset"]]


async def test_stock_is_handed_on_behind_the_units(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """What came, went, was counted and thrown away of the lot, in the words of CBV; valid under the published schema.

    A count without a lot may be of the lot; what is known to be of another is left out.
    """
    await post(fleet, administrator, *told_of_stock())
    told = await document(fleet, administrator)
    events = of_stock(told)

    assert faults(told) == []
    assert words(events) == [
        ("stock-received", "receiving", "in_progress", "OBSERVE", 40.0),
        ("stock-moved", "shipping", "in_transit", "OBSERVE", 12.0),
        ("stock-counted", "stock_taking", None, "OBSERVE", 8.0),
        ("stock-counted", "stock_taking", None, "OBSERVE", 3.0),
        ("stock-discarded", "destroying", "disposed", "DELETE", 5.0),
    ]
    assert events == told["epcisBody"]["eventList"][-5:]
    assert [one["type"] for one in events[0]["bizTransactionList"]] == ["po"]
    assert events[1]["destinationList"][0]["destination"].endswith("/sites/east-yard")
    assert len({event["eventID"] for event in told["epcisBody"]["eventList"]}) == len(told["epcisBody"]["eventList"])


async def test_a_table_has_the_stock_too(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """As posted, in the order it happened; what was taken back says by what, which stands last."""
    wrong = stocked(8.0, occurred_at=ago(hours=3))
    void = message("voided", event=wrong["id"], reason="counted twice", by="p-2")
    await post(fleet, administrator, *told_of_stock(), wrong)
    await post(fleet, administrator, void)

    assert await table(fleet, administrator) == [
        ("stock-received", "harrow-dock", ""),
        ("stock-moved", "harrow-dock", ""),
        ("stock-counted", "harrow-dock", ""),
        ("stock-counted", "east-yard", ""),
        ("stock-counted", "harrow-dock", void["id"]),
        ("stock-discarded", "harrow-dock", ""),
        ("voided", "", ""),
    ]
    told = await document(fleet, administrator)
    declared = [event["eventID"] for event in of_stock(told) if "errorDeclaration" in event]
    assert declared == [f"urn:uuid:{wrong['id']}"]
    assert faults(told) == []


async def test_pages_go_from_the_units_into_the_stock(fleet: httpx.AsyncClient, administrator: Headers) -> None:
    """However the pages cut, they join to the whole; the last leads nowhere, and a cursor is bound to its question."""
    await post(fleet, administrator, *told_of_stock())
    answered = await fleet.get(HISTORY, headers=administrator | CSV)
    whole = [one["id"] for one in lines(answered)]
    for size in range(1, len(whole) + 1):
        found: list[str] = []
        where: str | None = f"{HISTORY}?limit={size}"
        while where is not None:
            page = await fleet.get(where, headers=administrator | CSV)
            assert 0 < len(lines(page)) <= size
            found += [one["id"] for one in lines(page)]
            where = page.links["next"]["url"] if "next" in page.links else None
        assert found == whole
    assert len(whole) == 13


async def test_a_site_sees_its_own_stock_alone(fleet: httpx.AsyncClient, administrator: Headers, keys: Keys) -> None:
    """What was moved to a site is told to who reads both; a key of that site alone is told neither event nor origin."""
    await post(fleet, administrator, *told_of_stock())
    yard, dock = [await keys.make("site-lead", [where]) for where in ("east-yard", "harrow-dock")]
    counted = ("stock-counted", "east-yard", "")

    assert await table(fleet, administrator, site="east-yard") == [("stock-moved", "harrow-dock", ""), counted]
    assert await table(fleet, yard) == [counted]
    assert {site for _, site, _ in await table(fleet, dock)} == {"harrow-dock"}
    for headers in (yard | CSV, yard | EPCIS):
        assert "harrow-dock" not in (await fleet.get(HISTORY, headers=headers)).text


async def test_nothing_is_handed_on_that_happened_later_or_was_not_known(
    fleet: httpx.AsyncClient, administrator: Headers
) -> None:
    """As at a moment, and as known at one, histories of units and of stock end there."""
    known = (await fleet.get("/v1/recalls/rc-1/impact", headers=administrator)).json()["known_at"]
    used = message("worn", asset="FX-1", wearer="p-7", occurred_at=ago(minutes=40))
    await post(fleet, administrator, *told_of_stock(), used)
    then, before = [
        await document(fleet, administrator, **asked) for asked in ({"as_at": ago(hours=1)}, {"known_at": known})
    ]

    assert [kind for kind, *_ in words(of_stock(then))] == ["stock-received", "stock-moved", *["stock-counted"] * 2]
    assert [kind for kind, *_ in words(of_stock(before))] == ["stock-counted"] * 2
    ids = {event["eventID"] for one in (then, before) for event in one["epcisBody"]["eventList"]}
    assert f"urn:uuid:{used['id']}" not in ids


async def test_of_a_recall_that_was_taken_back_no_stock_is_told(
    fleet: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """Its stock may be used again, as its list says; the units that it had reached are told still."""
    opening = (await fleet.get("/v1/events?kind=recall-opened", headers=administrator)).json()["events"][0]["id"]
    await post(fleet, await keys.make("manager"), message("voided", event=opening, reason="another lot", by="p-2"))
    told = await document(fleet, administrator)

    assert of_stock(told) == []
    assert told["epcisBody"]["eventList"]
