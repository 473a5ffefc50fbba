"""Orders that would block or double a need: each is told of in a report, and what is needed is proposed."""

from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

import httpx

from service.domain.ordering.naming import proposal_id
from tests.http.firm import Headers, ago, message, post
from tests.http.keys import Keys
from tests.http.ordering_firm import act, listed, received, shop, the_one
from tests.http.plant import report
from tests.http.test_orders import LINE

__all__ = ["shop"]


async def test_an_order_of_no_day_is_overdue_once_its_lead_time_is_over(
    shop: httpx.AsyncClient, administrator: Headers
) -> None:
    """Ordered 95 days ago at fourteen: it is told of, and what it should have brought is proposed again."""
    first = await the_one(shop, administrator)
    said = {"proposal": first["id"], "order": "PO-1", "lines": [LINE | {"quantity": 40.0}], "site": "harrow-dock"}
    (placed,) = await post(shop, administrator, message("order-placed", occurred_at=ago(days=95), **said))
    assert [one["state"] for one in await listed(shop, administrator)] == ["placed", "open"]
    (row,) = await report(shop, administrator, "order-overdue")
    assert (row["site"], row["because"]) == ("harrow-dock", [placed["seq"]])


async def test_an_approval_that_nobody_ordered_is_told_of(shop: httpx.AsyncClient, administrator: Headers) -> None:
    """After as long as an order takes it is no supply any more."""
    first = await the_one(shop, administrator)
    approval = message("reorder-approved", proposal=first["id"], quantity=40.0, occurred_at=ago(days=95))
    (told,) = await post(shop, administrator, approval)
    assert [one["state"] for one in await listed(shop, administrator)] == ["approved", "open"]
    (row,) = await report(shop, administrator, "approved-not-ordered")
    assert (row["row"], row["site"], row["severity"]) == (told["id"], "harrow-dock", "medium")
    await act(shop, administrator, first["id"], "placement", order="PO-1")
    assert await report(shop, administrator, "approved-not-ordered") == []


async def test_boxes_that_came_for_pieces_are_told_of(shop: httpx.AsyncClient, administrator: Headers) -> None:
    """Ten boxes end no order of forty pieces."""
    first = await the_one(shop, administrator)
    await act(shop, administrator, first["id"], "placement", order="PO-1", lines=[LINE | {"quantity": 40.0}])
    (came,) = await post(shop, administrator, received(10.0, unit="BX"))
    (row,) = await report(shop, administrator, "ordered-in-another-unit")
    assert (row["row"], row["site"]) == (came["id"], "harrow-dock")


async def test_an_order_for_what_nobody_proposed_is_told_of(
    shop: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """A conflict and a row; so is one of another site's proposal, in the same words, and that counts for nothing."""
    first = await the_one(shop, administrator)
    erp = await keys.make("integrator", ["east-yard"])
    orders = [
        message("order-placed", proposal=name, order="PO-1", lines=[LINE], occurred_at=ago(seconds=0))
        for name in ("erp-77", first["id"])
    ]
    told = await post(shop, erp, *orders)
    assert [one["conflicts"] for one in told] == [[{"code": "unknown-proposal"}]] * 2
    rows = await report(shop, administrator, "order-without-proposal")
    assert {(row["row"], row["site"], row["reason"]) for row in rows} == {
        (one["id"], "east-yard", "order 'PO-1' is for a proposal that nobody knows at the sites of its sender")
        for one in told
    }
    now = await the_one(shop, administrator)
    assert (now["id"], now["state"], now["arithmetic"]) == (first["id"], "open", first["arithmetic"])


async def test_nobody_acts_on_the_orders_of_another_site(
    shop: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """A cancellation of the dock's order by the yard's key counts for nothing, as of one that nobody placed."""
    first = await the_one(shop, administrator)
    await act(shop, administrator, first["id"], "placement", order="PO-1")
    yard, dock = await keys.make("integrator", ["east-yard"]), await keys.make("integrator", ["harrow-dock"])
    for order in ("PO-1", "PO-9"):
        said = message("order-cancelled", order=order, reason="x", occurred_at=ago(seconds=0))
        (told,) = await post(shop, yard, said)
        assert told["conflicts"] == [{"code": "unknown-order"}]
    manager = await keys.make("manager", ["east-yard"])
    (approval,) = await post(shop, manager, message("reorder-approved", proposal=first["id"], quantity=9.0))
    assert approval["conflicts"] == [{"code": "unknown-proposal"}]
    assert (await the_one(shop, administrator))["state"] == "placed"
    (told,) = await post(shop, dock, message("order-cancelled", order="PO-1", reason="x", occurred_at=ago(seconds=0)))
    assert told["conflicts"] == []
    assert [one["id"] for one in await listed(shop, administrator, state="cancelled")] == [first["id"]]


async def test_what_came_at_another_site_fills_nothing(shop: httpx.AsyncClient, administrator: Headers) -> None:
    """The yard's receipt under the dock's number is received without an order."""
    first = await the_one(shop, administrator)
    await act(shop, administrator, first["id"], "placement", order="PO-1", lines=[LINE])
    (came,) = await post(shop, administrator, received(8.0, site="east-yard"))
    read = (await shop.get(f"/v1/reorders/{first['id']}", headers=administrator)).json()
    assert (read["state"], read["order"]["lines"][0]["received"]) == ("placed", 0.0)
    (row,) = await report(shop, administrator, "received-without-order")
    assert (row["row"], row["site"]) == (came["id"], "east-yard")


async def test_what_was_called_off_may_be_placed_again_as_an_event(
    shop: httpx.AsyncClient, administrator: Headers
) -> None:
    """At the door the same placement is told that it was called off; a later event opens it, and it ends once more."""
    name = (await the_one(shop, administrator))["id"]
    await act(shop, administrator, name, "placement", order="PO-1", lines=[LINE])
    first = (await act(shop, administrator, name, "cancellation")).json()
    refused = await act(shop, administrator, name, "placement", order="PO-1", lines=[LINE])
    assert (refused.status_code, refused.json()["state"]) == (409, "cancelled")
    assert f"Order 'PO-1' was called off by event {first['id']}." in refused.json()["detail"]
    said = {"proposal": name, "order": "PO-1", "lines": [LINE], "occurred_at": ago(seconds=0)}
    await post(shop, administrator, message("order-placed", **said))
    assert (await the_one(shop, administrator))["state"] == "placed"
    again = await act(shop, administrator, name, "cancellation")
    assert (again.status_code, again.json()["proposal"]["state"]) == (201, "cancelled")
    assert again.json()["id"] != first["id"]


async def test_what_is_posted_together_rests_on_what_precedes_it(
    shop: httpx.AsyncClient, administrator: Headers
) -> None:
    """An order, its cancellation and the order for the need that follows, in one message: nothing contradicts."""
    first, second = (proposal_id("harrow-dock", "pf-170", n) for n in range(2))
    said = {"lines": [LINE], "site": "harrow-dock", "occurred_at": ago(seconds=0)}
    told = await post(
        shop,
        administrator,
        message("order-placed", proposal=first, order="PO-1", **said),
        message("order-cancelled", order="PO-1", reason="x", occurred_at=ago(seconds=0)),
        message("order-placed", proposal=second, order="PO-2", **said),
    )
    assert [one["conflicts"] for one in told] == [[], [], []]


async def test_what_was_ordered_today_by_its_day_alone_is_ordered_once(
    shop: httpx.AsyncClient, administrator: Headers
) -> None:
    """A system that keeps no time of day has ordered: nobody does again before the day is over."""
    name, today = (await the_one(shop, administrator))["id"], datetime.now(ZoneInfo("Europe/London")).date().isoformat()
    said = {"proposal": name, "order": "PO-1", "lines": [LINE | {"quantity": 12.0}], "site": "harrow-dock"}
    await post(shop, administrator, message("order-placed", **said, occurred_on=today))
    now = await the_one(shop, administrator)
    assert (now["id"], now["state"], now["order"]["order"]) == (name, "placed", "PO-1")
    again = await act(shop, administrator, name, "placement", order="PO-2", lines=[LINE])
    assert (again.status_code, again.json()["order"]) == (409, "PO-1")


async def test_a_number_that_was_called_off_today_can_be_used_again(
    shop: httpx.AsyncClient, administrator: Headers
) -> None:
    """A system without a time of day called it off; what it orders under the number then is not called off by that."""
    first, today = await the_one(shop, administrator), datetime.now(ZoneInfo("Europe/London")).date().isoformat()
    said: dict[str, Any] = {"order": "PO-1", "site": "harrow-dock"}
    placed = message("order-placed", proposal=first["id"], lines=[LINE], occurred_at=ago(days=2), **said)
    await post(shop, administrator, placed, message("order-cancelled", reason="too late", occurred_on=today, **said))
    second = await the_one(shop, administrator, state="open")
    again = await act(shop, administrator, second["id"], "placement", order="PO-1", lines=[LINE])
    assert (again.status_code, again.json()["proposal"]["state"]) == (201, "placed")
    assert [one["state"] for one in await listed(shop, administrator, state="cancelled")] == ["cancelled"]
