"""What is ordered beyond what was approved: refused at the door, told of where it is posted straight as an event."""

from typing import Any

import httpx
import pytest

from service.domain.ordering.naming import proposal_id
from tests.http.firm import Headers, ago, message, post
from tests.http.keys import Keys
from tests.http.ordering_firm import act, cap, shop, the_one
from tests.http.plant import report
from tests.http.test_orders import LINE

__all__ = ["shop"]

TOLD = [{"code": "order-without-approval"}]


def raw(proposal: str, **line: Any) -> dict[str, Any]:
    """Post an order straight as an event."""
    said = {"proposal": proposal, "order": "PO-1", "lines": [LINE | line], "site": "harrow-dock"}
    return message("order-placed", **said, occurred_at=ago(seconds=0))


async def test_an_order_beyond_the_cap_is_told_of(shop: httpx.AsyncClient, administrator: Headers, keys: Keys) -> None:
    """Five thousand at a cap of ten pounds: a conflict and a row, until so much is approved."""
    await post(shop, administrator, cap(amount="10.00"))
    name, erp = (await the_one(shop, administrator))["id"], await keys.make("integrator")
    (told,) = await post(shop, erp, raw(name, quantity=5000.0))
    assert told["conflicts"] == TOLD
    (row,) = await report(shop, administrator, "ordered-without-approval")
    assert (row["row"], row["site"], row["severity"], row["because"]) == (
        told["id"],
        "harrow-dock",
        "high",
        [told["seq"]],
    )
    assert row["reason"] == "order 'PO-1' is for more than was approved"
    await post(shop, administrator, message("reorder-approved", proposal=name, quantity=5000.0))
    assert await report(shop, administrator, "ordered-without-approval") == []


async def test_an_order_that_may_be_is_no_exception(
    shop: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """Within the cap and what is proposed, told twice; and whatever a manager orders."""
    await post(shop, administrator, cap())
    name, erp = (await the_one(shop, administrator))["id"], await keys.make("integrator")
    for _ in range(2):
        (told,) = await post(shop, erp, raw(name))
        assert told["conflicts"] == []
    await post(shop, administrator, raw(name, quantity=5000.0))
    assert await report(shop, administrator, "ordered-without-approval") == []


@pytest.mark.parametrize(("price", "currency"), [("9000.00", "GBP"), ("18.40", "USD"), ("18.41", "GBP")])
async def test_what_was_approved_is_so_for_its_money(
    shop: httpx.AsyncClient, administrator: Headers, keys: Keys, price: str, currency: str
) -> None:
    """Eight at 18.40 pounds are 147.20: dearer lines are refused, and told of where they are posted straight."""
    name, erp = (await the_one(shop, administrator))["id"], await keys.make("integrator")
    await act(shop, administrator, name, "approval", quantity=8.0)
    dear = {"price": price, "currency": currency}
    refused = await act(shop, erp, name, "placement", order="PO-1", lines=[LINE | dear])
    assert (refused.status_code, refused.json()["type"]) == (409, "/problems/approval-needed")
    assert "beyond the 147.20 GBP that were approved" in refused.json()["detail"]
    (told,) = await post(shop, erp, raw(name, **dear))
    assert told["conflicts"] == TOLD
    assert len(await report(shop, administrator, "ordered-without-approval")) == 1


async def test_what_costs_no_more_is_ordered_and_costs_what_it_says(
    shop: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """Eight at 18.30 pounds are 146.40, whatever the item is said to cost."""
    name, erp = (await the_one(shop, administrator))["id"], await keys.make("integrator")
    await act(shop, administrator, name, "approval", quantity=8.0)
    line = LINE | {"price": "18.30", "currency": "GBP"}
    placed = await act(shop, erp, name, "placement", order="PO-1", lines=[line])
    assert placed.status_code == 201
    assert placed.json()["proposal"]["cost"] == {"amount": "146.40", "currency": "GBP"}


async def test_a_self_given_approval_is_no_leave_for_another_price(
    shop: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """Eight within the cap at the item's price are not eight at nine thousand each."""
    await post(shop, administrator, cap())
    name, erp = (await the_one(shop, administrator))["id"], await keys.make("integrator")
    (told,) = await post(
        shop, erp, message("reorder-approved", proposal=name, quantity=8.0, occurred_at=ago(seconds=0))
    )
    assert told["conflicts"] == []
    line = LINE | {"price": "9000.00", "currency": "GBP"}
    refused = await act(shop, erp, name, "placement", order="PO-1", lines=[line])
    assert (refused.status_code, refused.json()["type"]) == (409, "/problems/approval-needed")


async def test_no_more_is_approved_within_the_cap_than_is_proposed(
    shop: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """However many needs are named one after the other, in one go too: what is on its way is not needed again."""
    await post(shop, administrator, cap())
    erp, proposed = await keys.make("integrator"), (await the_one(shop, administrator))["quantity"]
    names = [proposal_id("harrow-dock", "pf-170", n) for n in range(2)]
    asked = ((names[0], 27.0), (names[0], proposed), (names[1], 4.0))
    told = await post(
        shop,
        erp,
        *(message("reorder-approved", proposal=one, quantity=many, occurred_at=ago(seconds=0)) for one, many in asked),
    )
    refused = [{"code": "approval-without-authority"}]
    assert [one["conflicts"] for one in told] == [refused, [], refused]
    placed = [await act(shop, erp, name, "placement", order=f"PO-{nth}") for nth, name in enumerate(names)]
    assert [one.status_code for one in placed] == [201, 422]
    only = await the_one(shop, administrator)
    assert (only["state"], only["quantity"]) == ("placed", proposed)


async def test_one_approval_is_no_leave_for_two_orders(
    shop: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """Eight are approved and ordered under two numbers: the second is told of, until it or the first is called off."""
    name, erp = (await the_one(shop, administrator))["id"], await keys.make("integrator")
    await act(shop, administrator, name, "approval", quantity=8.0)
    (first,) = await post(shop, erp, raw(name))
    (second,) = await post(shop, erp, raw(name) | {"order": "PO-2"})
    assert (first["conflicts"], second["conflicts"]) == ([], TOLD)
    assert [row["row"] for row in await report(shop, administrator, "ordered-without-approval")] == [second["id"]]
    called_off = message("order-cancelled", order="PO-1", reason="x", occurred_at=ago(seconds=0))
    await post(shop, erp, called_off)
    assert await report(shop, administrator, "ordered-without-approval") == []
    read = (await shop.get(f"/v1/reorders/{name}", headers=administrator)).json()
    assert (read["quantity"], read["cost"]) == (8.0, {"amount": "147.20", "currency": "GBP"})


@pytest.mark.parametrize("before", ["cap", "approval"])
async def test_boxes_are_no_pieces(shop: httpx.AsyncClient, administrator: Headers, keys: Keys, before: str) -> None:
    """Eight pieces are within the cap, or approved: of eight boxes nobody can say what they cost, so they are told."""
    name, erp = (await the_one(shop, administrator))["id"], await keys.make("integrator")
    if before == "cap":
        await post(shop, administrator, cap())
    else:
        await act(shop, administrator, name, "approval", quantity=8.0)
    (told,) = await post(shop, erp, raw(name, unit="XBX"))
    assert told["conflicts"] == TOLD
    assert [row["row"] for row in await report(shop, administrator, "ordered-without-approval")] == [told["id"]]


async def test_a_fast_clock_orders_nothing_twice(shop: httpx.AsyncClient, administrator: Headers, keys: Keys) -> None:
    """Three orders within the cap, each said to be made in three minutes: the first is what is needed, and on its way.

    The need is dealt with from its receipt, so that the door makes no second order either.
    """
    await post(shop, administrator, cap(amount="5000.00"))
    first, erp = await the_one(shop, administrator), await keys.make("integrator")
    names = [first["id"], *(proposal_id("harrow-dock", "pf-170", n) for n in (1, 2))]
    orders = [
        raw(name, quantity=12.0) | {"order": f"PO-{nth}", "occurred_at": ago(minutes=-3)}
        for nth, name in enumerate(names)
    ]
    assert [one["conflicts"] for one in await post(shop, erp, *orders)] == [[], TOLD, TOLD]
    again = await act(shop, erp, first["id"], "placement", order="PO-9", lines=[LINE])
    assert (again.status_code, again.json()["order"]) == (409, "PO-0")
