"""Many who order the same proposal at once, in one process and in two, make one order."""

import asyncio
from collections.abc import AsyncIterator

import httpx
import pytest

from tests.http.firm import Headers, post, serving
from tests.http.keys import Keys
from tests.http.ordering_firm import act, cap, shop, the_one
from tests.http.test_orders import LINE, events

__all__ = ["shop"]


@pytest.fixture
async def beside(app_url: str) -> AsyncIterator[httpx.AsyncClient]:
    """Give a client of another service on the same database, which shares nothing else with the first."""
    async with serving(app_url) as client:
        yield client


async def test_of_many_placements_one_is_recorded(
    shop: httpx.AsyncClient, beside: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """Each under a number of its own: one is ordered and approved within the cap; the others are told its number."""
    await post(shop, administrator, cap())
    name, erp = (await the_one(shop, administrator))["id"], await keys.make("integrator")
    told = await asyncio.gather(
        *(act((shop, beside)[nth % 2], erp, name, "placement", order=f"PO-{nth}", lines=[LINE]) for nth in range(16))
    )
    (placed,) = [one for one in told if one.status_code == 201]
    number = placed.json()["proposal"]["order"]["order"]
    refused = [one for one in told if one is not placed]
    assert {(one.status_code, one.json()["type"], one.json()["order"]) for one in refused} == {
        (409, "/problems/proposal-state", number)
    }
    assert [one["order"] for one in await events(shop, administrator, "order-placed")] == [number]
    assert len(await events(shop, administrator, "reorder-approved")) == 1
    assert (await shop.get("/v1/rejected", headers=administrator)).json()["rejected"] == []


async def test_of_many_that_say_the_same_all_are_told_the_same(
    shop: httpx.AsyncClient, beside: httpx.AsyncClient, administrator: Headers
) -> None:
    """One is recorded, the others repeat it, whichever process they asked."""
    name = (await the_one(shop, administrator))["id"]
    told = await asyncio.gather(
        *(
            act((shop, beside)[nth % 2], administrator, name, "placement", order="PO-1", lines=[LINE])
            for nth in range(12)
        )
    )
    assert sorted(one.status_code for one in told) == [200] * 11 + [201]
    assert len({(one.json()["id"], one.json()["seq"]) for one in told}) == 1


async def test_of_many_approvals_one_counts(
    shop: httpx.AsyncClient, beside: httpx.AsyncClient, administrator: Headers
) -> None:
    """Half of them of eight, half of twelve: one quantity is approved, and who said the other is told so."""
    name = (await the_one(shop, administrator))["id"]
    said = [(nth, 8.0 if nth % 4 < 2 else 12.0) for nth in range(12)]
    told = await asyncio.gather(
        *(act((shop, beside)[nth % 2], administrator, name, "approval", quantity=many) for nth, many in said)
    )
    (event,) = await events(shop, administrator, "reorder-approved")
    same = [one.status_code for one, (_, many) in zip(told, said, strict=True) if many == event["quantity"]]
    other = [one.status_code for one, (_, many) in zip(told, said, strict=True) if many != event["quantity"]]
    assert (sorted(same), other) == ([200] * 5 + [201], [409] * 6)


async def test_an_approval_and_a_placement_at_once_make_one_of_each(
    shop: httpx.AsyncClient, beside: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """Whichever comes first, the proposal is approved once and ordered once."""
    await post(shop, administrator, cap())
    name, erp = (await the_one(shop, administrator))["id"], await keys.make("integrator")
    approvals = [act(shop, administrator, name, "approval", quantity=8.0) for _ in range(4)]
    orders = [act(beside, erp, name, "placement", order="PO-1", lines=[LINE]) for _ in range(4)]
    told = await asyncio.gather(*approvals, *orders)
    assert {one.status_code for one in told} <= {200, 201}
    assert len(await events(shop, administrator, "reorder-approved")) == 1
    assert len(await events(shop, administrator, "order-placed")) == 1


async def test_who_recorded_an_order_is_told_so(
    shop: httpx.AsyncClient, beside: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """Though another quantity was approved meanwhile: of a recorded order one sender is told 201, of none nobody."""
    await post(shop, administrator, cap())
    name, erp = (await the_one(shop, administrator))["id"], await keys.make("integrator")
    orders = [act(beside, erp, name, "placement", order=f"PO-{nth}", lines=[LINE]) for nth in range(6)]
    approvals = [act(shop, administrator, name, "approval", quantity=3.0 + nth) for nth in range(6)]
    told = await asyncio.gather(*(one for pair in zip(orders, approvals, strict=True) for one in pair))
    recorded = [event["order"] for event in await events(shop, administrator, "order-placed")]
    made = [one.json()["proposal"]["order"]["order"] for one in told[::2] if one.status_code == 201]
    assert made == recorded
