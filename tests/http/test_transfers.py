"""What sites can spare: nobody is stripped bare, nothing is promised twice, and nothing that is bad is sent on."""

from typing import Any

import httpx

from service.domain.ordering.naming import proposal_id
from tests.http.firm import Headers, ago, message, post, registered, site
from tests.http.keys import Keys
from tests.http.ordering_firm import act, counted, listed, received, shop, the_one, used

__all__ = ["shop"]

GONE = {"site": "harrow-dock", "item": "pf-170", "quantity": 12.0, "unit": "C62", "lot": "L-1", "reason": "wet"}


def in_use(where: str, quantity: float) -> list[Any]:
    """Use filters at another site as at the dock, of so many."""
    unit = registered(f"FX-{where}", site=where, occurred_at=ago(days=150))
    return [unit, counted(quantity, where), *used(tag=f"FX-{where}", site=where)]


async def test_what_is_on_its_way_to_a_site_frees_nothing_there(
    shop: httpx.AsyncClient, administrator: Headers
) -> None:
    """Twenty lie at the yard, which is filled up to eighteen; two hundred are ordered for it: two can go."""
    await post(shop, administrator, *in_use("east-yard", 48.0))
    line = {"line": "10", "item": "pf-170", "quantity": 200.0, "unit": "C62"}
    yard = proposal_id("east-yard", "pf-170", 0)
    await act(shop, administrator, yard, "placement", order="PO-Y", lines=[line])
    dock = await the_one(shop, administrator, site="harrow-dock")
    assert [(one["from_site"], one["quantity"]) for one in dock["transfers"]] == [("east-yard", 2.0)]


async def test_what_a_site_can_spare_is_promised_once(shop: httpx.AsyncClient, administrator: Headers) -> None:
    """The yard has sixteen it does not need: the dock has the twelve it wants, the pier the four that are left."""
    await post(shop, administrator, site("north-pier"), *in_use("north-pier", 34.0), counted(16.0, "east-yard"))
    dock, pier = await listed(shop, administrator)
    assert (dock["site"], [one["quantity"] for one in dock["transfers"]], dock["quantity"]) == ("harrow-dock", [12], 0)
    assert (pier["site"], [one["quantity"] for one in pier["transfers"]], pier["quantity"]) == ("north-pier", [4], 8)
    for found in (dock, pier):
        alone = (await shop.get(f"/v1/reorders/{found['id']}", headers=administrator)).json()
        assert alone["transfers"] == found["transfers"]
        assert await the_one(shop, administrator, site=found["site"]) == found


async def test_a_transfer_names_the_lot_that_is_meant(shop: httpx.AsyncClient, administrator: Headers) -> None:
    """Eight of the lot that expires sooner, then four of the other; none of the one that has expired."""
    for lot, quantity, expires in (("L-2", 50.0, "2035-01"), ("L-1", 8.0, "2034-05-09"), ("L-0", 9.0, "2020-01")):
        await post(shop, administrator, received(quantity, None, "east-yard", lot=lot, expires=expires))
    dock = await the_one(shop, administrator, site="harrow-dock")
    assert dock["transfers"] == [
        {"from_site": "east-yard", "quantity": 8.0, "lot": "L-1", "expires": "2034-05-09"},
        {"from_site": "east-yard", "quantity": 4.0, "lot": "L-2", "expires": "2035-01-31"},
    ]


async def test_what_expires_before_it_is_used_is_bought(shop: httpx.AsyncClient, administrator: Headers) -> None:
    """Fifty at the yard are good to tomorrow: the dock uses none by then, and buys."""
    soon = received(50.0, None, "east-yard", lot="L-SOON", expires=ago(days=-1)[:10])
    await post(shop, administrator, soon)
    dock = await the_one(shop, administrator, site="harrow-dock")
    assert (dock["transfers"], dock["quantity"]) == ([], 12.0)


async def test_recalled_stock_is_neither_there_nor_to_spare(shop: httpx.AsyncClient, administrator: Headers) -> None:
    """A recalled lot at the dock and at the yard: the dock needs what it needed, and what has no lot may be of it."""
    bad = [received(200.0, None, where, lot="L-BAD") for where in ("harrow-dock", "east-yard")]
    await post(shop, administrator, *bad, received(20.0, None, lot="L-1"))
    assert await listed(shop, administrator) == []
    recall = {"recall": "rc-1", "action": "inspect", "criteria": [{"item": "pf-170", "lot": "L-BAD"}]}
    drill = recall | {"recall": "rc-0", "rehearsal": True}
    await post(shop, administrator, message("recall-opened", occurred_at=ago(seconds=30), **drill))
    note = recall | {"action": "information"}
    await post(shop, administrator, message("recall-opened", occurred_at=ago(seconds=29), **note))
    assert await listed(shop, administrator) == []
    await post(shop, administrator, message("recall-opened", occurred_at=ago(seconds=20), **recall))
    name = proposal_id("harrow-dock", "pf-170", 0)
    told = (await shop.get(f"/v1/reorders/{name}", headers=administrator)).json()
    counts = told["arithmetic"]
    assert (counts["in_stock"], counts["recalled"], counts["position"]) == (20.0, 206.0, 20.0)
    await post(shop, administrator, message("stock-discarded", occurred_at=ago(seconds=10), **GONE))
    dock = await the_one(shop, administrator, site="harrow-dock")
    assert (dock["arithmetic"]["in_stock"], dock["transfers"], dock["quantity"]) == (8.0, [], 12.0)


async def test_a_closed_recall_lets_no_stock_of_its_lot_go(shop: httpx.AsyncClient, administrator: Headers) -> None:
    """Closing ends no effect (R34): the yard's bad lot is not sent on.

    What has no lot counts again, and so does what is recalled in one model alone.
    """
    bad = [received(200.0, None, where, lot="L-BAD") for where in ("harrow-dock", "east-yard")]
    criteria = [{"item": "pf-170", "lot": "L-BAD"}, {"item": "pf-170", "model": "northwind-2"}]
    recall = {"recall": "rc-1", "action": "stop-use", "criteria": criteria}
    opened = message("recall-opened", occurred_at=ago(seconds=30), **recall)
    reasons = [{"asset": "FX-0142", "reason": "its filter is looked at today"}]
    closed = message("recall-closed", recall="rc-1", occurred_at=ago(seconds=20), outstanding=reasons)
    await post(shop, administrator, *bad, opened, closed)
    assert (await shop.get("/v1/recalls/rc-1/impact", headers=administrator)).json()["recall"]["closed_at"]
    dock = await the_one(shop, administrator, site="harrow-dock")
    counts = dock["arithmetic"]
    assert (counts["in_stock"], counts["recalled"], dock["transfers"], dock["quantity"]) == (6.0, 200.0, [], 12.0)


async def test_once_a_recall_is_taken_back_its_stock_counts_again(
    shop: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """The recall was a mistake and is voided: twenty of the lot are there."""
    recall = {"recall": "rc-1", "action": "stop-use", "criteria": [{"item": "pf-170", "lot": "L-BAD"}]}
    opened = message("recall-opened", occurred_at=ago(minutes=30), **recall)
    await post(shop, administrator, received(20.0, None, lot="L-BAD"), opened)
    assert (await the_one(shop, administrator))["arithmetic"]["in_stock"] == 0.0
    back = {"event": opened["id"], "by": "p-1001", "reason": "another lot", "occurred_at": ago(seconds=1)}
    await post(shop, await keys.make("administrator"), message("voided", **back))
    assert await listed(shop, administrator) == []


async def test_what_is_moved_keeps_its_expiry(shop: httpx.AsyncClient, administrator: Headers) -> None:
    """Sixty that have expired come from the yard, their lot named in another spelling and no expiry: not one is used.

    At the dock they are told with the expiry that was said of the lot at the yard, the soonest where several were.
    """
    old = received(60.0, None, "east-yard", lot="L-OLD", expires="2020-01", occurred_at=ago(days=3))
    later = received(5.0, None, "east-yard", lot="L-OLD", expires="2031-01", occurred_at=ago(days=2))
    moved = {"site": "east-yard", "to_site": "harrow-dock", "item": "pf-170", "quantity": 60.0, "unit": "C62"}
    await post(
        shop, administrator, old, later, message("stock-moved", occurred_at=ago(minutes=2), lot="l-old", **moved)
    )
    assert (await lots(shop, administrator))["l-old"] == ("2020-01", True)
    found = await the_one(shop, administrator, site="harrow-dock")
    assert (found["arithmetic"]["in_stock"], found["arithmetic"]["expiring"]) == (66.0, 60.0)
    reports = (await shop.get("/v1/exceptions", headers=administrator)).json()["reports"]
    rows = next(one["rows"] for one in reports if one["report"] == "expired-stock")
    assert rows == 1
    await post(shop, administrator, message("voided", event=old["id"], reason="misread", occurred_at=ago(seconds=1)))
    assert (await lots(shop, administrator))["l-old"] == ("2031-01", False)


async def lots(http: httpx.AsyncClient, headers: Headers) -> dict[str, tuple[str, bool]]:
    """Read the lots at the dock: the expiry of each, and whether it is past."""
    read = await http.get("/v1/stock", params={"site": "harrow-dock"}, headers=headers)
    return {one["lot"]: (one["expires"], one["expired"]) for one in read.json()["stock"][0]["lots"]}
