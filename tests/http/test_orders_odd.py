"""Quantities and lines at their bounds: what no log could keep is refused, and sentences say what was meant."""

from typing import Any

import httpx
import pytest

from tests.http.firm import Headers, ago, post
from tests.http.keys import Keys
from tests.http.ordering_firm import act, counted, listed, received, shop, the_one
from tests.http.test_orders import LINE, events, proposal

__all__ = ["shop"]


@pytest.mark.parametrize(
    ("lines", "pointer", "detail"),
    [
        ([LINE, LINE], "#/lines/1/line", "10 is named twice"),
        (
            [LINE | {"line": name, "quantity": 400_000.5} for name in "abc"],
            "#/lines",
            "They come to 1200001.5: an order is of at most 1000000. Say in lines what was ordered.",
        ),
        ([LINE | {"price": "1.00", "currency": "ZZZ"}], "#/lines/0/currency", "'ZZZ' is no code of ISO 4217."),
        ([LINE | {"quantity": 0.0}], "#/lines", "An order of nothing: say in lines what was ordered."),
    ],
)
async def test_an_order_that_cannot_be_kept_is_refused(
    shop: httpx.AsyncClient, administrator: Headers, lines: Any, pointer: str, detail: str
) -> None:
    """A line that stands twice, more than anybody counts, money that is none, and nothing: the proposal stays open."""
    name = await proposal(shop, administrator)
    refused = await act(shop, administrator, name, "placement", order="PO-1", lines=lines)
    (told,) = refused.json()["errors"]
    assert (refused.status_code, told["pointer"], told["detail"]) == (422, pointer, detail)
    assert (await the_one(shop, administrator))["state"] == "open"


async def test_more_than_can_be_approved_at_a_time_is_said_in_parts(
    shop: httpx.AsyncClient, administrator: Headers
) -> None:
    """Where five millions are proposed, a million is approved by who says so, and the list can be read ever after."""
    weeks = [ago(days=80 - 7 * week) for week in range(8)]
    for week in weeks:
        await post(shop, administrator, received(1_000_000.0, None, occurred_at=week))
        await post(shop, administrator, counted(0.0, occurred_at=week))
    one = await the_one(shop, administrator)
    assert one["quantity"] > 1_000_000
    whole = [
        await act(shop, administrator, one["id"], "approval"),
        await act(shop, administrator, one["id"], "placement", order="PO-1"),
    ]
    told = [(answered.status_code, answered.json()["errors"][0]["pointer"]) for answered in whole]
    assert told == [(422, "#/quantity"), (422, "#/lines")]
    assert "are proposed, and at most 1000000 are approved at a time: say how much." in whole[0].text
    assert (await act(shop, administrator, one["id"], "approval", quantity=1_000_000)).status_code == 201
    assert (await listed(shop, administrator, state="approved"))[0]["quantity"] == 1_000_000.0


async def test_three_tenths_are_three_tenths(shop: httpx.AsyncClient, administrator: Headers, keys: Keys) -> None:
    """What the lines come to is what was approved, to the last digit that counts."""
    name = await proposal(shop, administrator)
    lines = [LINE | {"line": label, "quantity": 0.1} for label in "abc"]
    await act(shop, administrator, name, "approval", quantity=0.3)
    placed = await act(shop, await keys.make("integrator"), name, "placement", order="PO-1", lines=lines)
    assert (placed.status_code, placed.json()["proposal"]["quantity"]) == (201, 0.3)
    other = await the_one(shop, administrator, state="open")
    await act(shop, administrator, other["id"], "placement", order="PO-2", lines=lines)
    assert [one["quantity"] for one in await events(shop, administrator, "reorder-approved")] == [0.3, 0.3]


async def test_numbers_are_told_as_they_were_said(shop: httpx.AsyncClient, administrator: Headers, keys: Keys) -> None:
    """Neither a half nor a tenth of a penny is rounded away, and a million is one."""
    name, erp = await proposal(shop, administrator), await keys.make("integrator")
    nothing = await act(shop, administrator, name, "approval", quantity=0)
    assert nothing.json()["errors"][0]["detail"] == "A quantity of 0 approves nothing: say how much is approved."
    approved = (await act(shop, administrator, name, "approval", quantity=123456.5)).json()["id"]
    other = await act(shop, administrator, name, "approval", quantity=12)
    assert f"It was approved for 123456.5: to change that, void event {approved} and" in other.json()["detail"]
    more = LINE | {"quantity": 1_000_000.0}
    dear = LINE | {"quantity": 123456.5, "price": "18.4001", "currency": "GBP"}
    for line, told in (
        (more, "1000000 are more than the 123456.5 that were approved"),
        (dear, "2271611.94565 GBP are beyond the 2271599.60 GBP that were approved"),
    ):
        refused = await act(shop, erp, name, "placement", order="PO-1", lines=[line])
        assert refused.status_code == 409
        assert told in refused.json()["detail"]
        assert f"Have a manager void event {approved} and approve it at /v1/reorders/{name}" in refused.json()["detail"]
