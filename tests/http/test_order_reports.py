"""Exceptions of orders: ordered twice, overdue, received without an order."""

import httpx

from tests.http.firm import Headers, ago, message, post
from tests.http.keys import Keys
from tests.http.ordering_firm import act, received, shop, the_one
from tests.http.plant import counted as counts
from tests.http.plant import looked_at, report
from tests.http.test_orders import LINE

__all__ = ["shop"]


async def test_two_orders_for_one_proposal_are_found(shop: httpx.AsyncClient, administrator: Headers) -> None:
    """The second is recorded as it was posted; once it is called off it is no exception any more."""
    name = (await the_one(shop, administrator))["id"]
    first = (await act(shop, administrator, name, "placement", order="PO-1", lines=[LINE])).json()
    said = {"proposal": name, "order": "PO-2", "lines": [LINE], "occurred_at": ago(seconds=0)}
    (second,) = await post(shop, administrator, message("order-placed", **said))
    (row,) = await report(shop, administrator, "ordered-twice")
    assert (row["row"], row["site"], row["asset"], row["severity"]) == (second["id"], "harrow-dock", None, "medium")
    assert row["because"] == [first["seq"], second["seq"]]
    assert row["reason"] == "order 'PO-2' is for a proposal that had been ordered already"
    assert (await counts(shop, administrator))["ordered-twice"]["open"] == 1
    await act(shop, administrator, name, "cancellation", order="PO-2")
    assert await report(shop, administrator, "ordered-twice") == []


async def test_orders_that_have_not_come_are_found_once_their_day_is_over(
    shop: httpx.AsyncClient, administrator: Headers
) -> None:
    """Part of it is not all of it; a correction with a later day ends the row, and so does the rest."""
    name = (await the_one(shop, administrator))["id"]
    said = {"proposal": name, "order": "PO-1", "lines": [LINE], "occurred_at": ago(days=9)}
    await post(shop, administrator, message("order-placed", expected_on=ago(days=3)[:10], **said), received(3.0))
    (row,) = await report(shop, administrator, "order-overdue")
    assert (row["site"], row["reasons"], len(row["because"])) == ("harrow-dock", ["order-overdue"], 2)
    await post(shop, administrator, looked_at(row, "order-overdue"))
    assert (await counts(shop, administrator))["order-overdue"]["open"] == 0
    later = message("order-placed", expected_on="2199-12-31", **(said | {"occurred_at": ago(hours=2)}))
    await post(shop, administrator, later)
    assert await report(shop, administrator, "order-overdue") == []


async def test_an_order_that_has_come_is_not_overdue(shop: httpx.AsyncClient, administrator: Headers) -> None:
    """Neither one that was called off, nor one that nobody said a day of."""
    name = (await the_one(shop, administrator))["id"]
    said = {"proposal": name, "order": "PO-1", "lines": [LINE], "occurred_at": ago(days=9)}
    await post(shop, administrator, message("order-placed", expected_on=ago(days=3)[:10], **said), received(8.0))
    assert await report(shop, administrator, "order-overdue") == []


async def test_receipts_for_an_order_that_nobody_placed_are_found(
    shop: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """At their own site, until the order is told of; one that names no order is none of them."""
    (stray, _) = await post(shop, administrator, received(3.0, "PO-9"), received(3.0, None))
    (row,) = await report(shop, await keys.make("site-lead", ["harrow-dock"]), "received-without-order")
    assert (row["row"], row["because"], row["severity"]) == (stray["id"], [stray["seq"]], "low")
    assert row["reason"] == "received for order 'PO-9', which nobody placed for this site"
    assert await report(shop, await keys.make("site-lead", ["east-yard"]), "received-without-order") == []
    name = "pr-of-another-system"
    await post(shop, administrator, message("order-placed", proposal=name, order="PO-9", lines=[LINE]))
    assert await report(shop, administrator, "received-without-order") == []
