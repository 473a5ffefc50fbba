"""Proposals that are approved, ordered and called off: once each, whoever asks and however often."""

from typing import Any

import httpx
import pytest

from tests.http.firm import Headers, ago, message, post
from tests.http.keys import Keys
from tests.http.ordering_firm import act, cap, listed, received, shop, the_one

__all__ = ["shop"]

LINE = {"line": "10", "item": "pf-170", "quantity": 8.0, "unit": "C62"}


async def events(http: httpx.AsyncClient, headers: Headers, *kinds: str) -> list[Any]:
    """Read the events of some kinds."""
    every = [(await http.get("/v1/events", params={"kind": kind}, headers=headers)).json()["events"] for kind in kinds]
    return [event for found in every for event in found]


async def proposal(http: httpx.AsyncClient, headers: Headers) -> str:
    """Name the only proposal there is."""
    return str((await the_one(http, headers))["id"])


async def test_an_approval_is_of_what_is_proposed_if_nothing_is_said(
    shop: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """It is an event of the site, told with its place in the log, and the proposal as it is then."""
    manager = await keys.make("manager")
    before = await the_one(shop, manager)
    answered = await act(shop, manager, before["id"], "approval")
    told = answered.json()
    (event,) = await events(shop, administrator, "reorder-approved")
    assert (answered.status_code, told["outcome"], told["seq"]) == (201, "recorded", event["seq"])
    assert answered.headers["ledger-position"] == str(event["seq"])
    assert answered.headers["location"] == f"/v1/events/{event['id']}"
    assert (event["proposal"], event["quantity"], event["site"]) == (before["id"], before["quantity"], "harrow-dock")
    now = told["proposal"]
    assert (now["id"], now["state"], now["quantity"]) == (before["id"], "approved", before["quantity"])
    assert (now["approval"]["by"], now["approval"]["within_cap"]) == ("p-1001", False)


async def test_to_approve_again_repeats_it(shop: httpx.AsyncClient, administrator: Headers, keys: Keys) -> None:
    """Another manager who approves as much is told of the first approval, later too; another quantity is refused."""
    name = await proposal(shop, administrator)
    first = await act(shop, administrator, name, "approval", quantity=8.0)
    other = await keys.make("manager")
    again = await act(shop, other, name, "approval", quantity=8.0, by="p-1002")
    more = await act(shop, other, name, "approval", quantity=12.0)
    assert (first.status_code, again.status_code) == (201, 200)
    assert [again.json()[one] for one in ("id", "seq", "recorded_at")] == [
        first.json()[one] for one in ("id", "seq", "recorded_at")
    ]
    assert (more.status_code, more.json()["type"], more.json()["state"]) == (
        409,
        "/problems/proposal-state",
        "approved",
    )
    assert first.json()["id"] in more.json()["detail"]
    await act(shop, administrator, name, "placement", order="PO-1")
    assert (await act(shop, other, name, "approval")).status_code == 200


async def test_an_approval_that_was_voided_can_be_given_anew(shop: httpx.AsyncClient, administrator: Headers) -> None:
    """The need is open again under its id, and another quantity is approved by an event of another id."""
    name = await proposal(shop, administrator)
    first = (await act(shop, administrator, name, "approval", quantity=8.0)).json()
    await post(shop, administrator, message("voided", event=first["id"], reason="too few"))
    assert (await the_one(shop, administrator))["state"] == "open"
    anew = await act(shop, administrator, name, "approval", quantity=12.0)
    assert (anew.status_code, anew.json()["proposal"]["quantity"]) == (201, 12.0)
    assert anew.json()["id"] != first["id"]


async def test_a_placement_is_of_what_was_approved(shop: httpx.AsyncClient, administrator: Headers, keys: Keys) -> None:
    """The integrator says its number; the order has one line of as much as was approved."""
    name, erp = await proposal(shop, administrator), await keys.make("integrator")
    await act(shop, administrator, name, "approval", quantity=8.0)
    answered = await act(shop, erp, name, "placement", order="PO-1", supplier="sup-4", expected_on="2030-01-31")
    told = answered.json()["proposal"]
    assert (answered.status_code, told["state"], told["order"]["order"]) == (201, "placed", "PO-1")
    assert (told["order"]["supplier"], told["order"]["expected_on"]) == ("sup-4", "2030-01-31")
    assert [(one["line"], one["ordered"], one["unit"]) for one in told["order"]["lines"]] == [("1", 8.0, "C62")]


async def test_a_proposal_is_ordered_once(shop: httpx.AsyncClient, administrator: Headers, keys: Keys) -> None:
    """The same again is its repeat; another number, or other lines, is told which order there is."""
    name, erp = await proposal(shop, administrator), await keys.make("integrator")
    await act(shop, administrator, name, "approval", quantity=8.0)
    first = await act(shop, erp, name, "placement", order="PO-1", lines=[LINE])
    again = await act(shop, erp, name, "placement", order="PO-1", lines=[LINE])
    other = await act(shop, erp, name, "placement", order="PO-2", lines=[LINE])
    fewer = await act(shop, erp, name, "placement", order="PO-1", lines=[LINE | {"quantity": 4.0}])
    assert (first.status_code, again.status_code) == (201, 200)
    assert again.json()["id"] == first.json()["id"]
    for refused in (other, fewer):
        told = refused.json()
        assert (refused.status_code, told["type"]) == (409, "/problems/proposal-state")
        assert (told["state"], told["order"]) == ("placed", "PO-1")
    assert len(await events(shop, administrator, "order-placed")) == 1


async def test_the_same_order_written_otherwise_is_its_repeat(shop: httpx.AsyncClient, administrator: Headers) -> None:
    """Lines in another order, a price without its last nought and a piece under another word say the same."""
    name = await proposal(shop, administrator)
    ten, twenty = LINE | {"price": "18.40", "currency": "GBP"}, LINE | {"line": "20", "quantity": 4.0}
    first = await act(shop, administrator, name, "placement", order="PO-1", lines=[ten, twenty])
    same = [twenty | {"unit": "each"}, ten | {"price": "18.4"}]
    again = await act(shop, administrator, name, "placement", order="PO-1", lines=same)
    assert (first.status_code, again.status_code, again.json()["id"]) == (201, 200, first.json()["id"])
    for other in ([ten], [ten, twenty | {"line": "30"}], [ten | {"price": "18.41"}, twenty]):
        refused = await act(shop, administrator, name, "placement", order="PO-1", lines=other)
        assert (refused.status_code, refused.json()["order"]) == (409, "PO-1")


async def test_beyond_what_was_approved_a_manager_is_asked(
    shop: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """Without an approval or a cap nothing is ordered by the integrator, and no more than was approved."""
    name, erp = await proposal(shop, administrator), await keys.make("integrator")
    unasked = await act(shop, erp, name, "placement", order="PO-1")
    await act(shop, administrator, name, "approval", quantity=8.0)
    more = await act(shop, erp, name, "placement", order="PO-1", lines=[LINE | {"quantity": 9.0}])
    assert [(one.status_code, one.json()["type"]) for one in (unasked, more)] == [
        (409, "/problems/approval-needed")
    ] * 2
    assert "no policy 'order-cap'" in unasked.json()["detail"]
    assert await events(shop, administrator, "order-placed") == []
    assert (await shop.get("/v1/rejected", headers=administrator)).json()["rejected"] == []


async def test_within_the_cap_the_order_is_its_approval(
    shop: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """Eight at 18.40 are 147.20 pounds: the approval is recorded before the order, and says that nobody looked."""
    await post(shop, administrator, cap(amount="147.20"))
    name, erp = await proposal(shop, administrator), await keys.make("integrator")
    dear = await act(shop, erp, name, "placement", order="PO-1", lines=[LINE | {"quantity": 9.0}])
    dearer = await act(shop, erp, name, "placement", order="PO-1", lines=[LINE | {"price": "18.41", "currency": "GBP"}])
    assert "165.60 GBP are beyond the cap of 147.20 GBP" in dear.json()["detail"]
    assert "147.28 GBP are beyond the cap of 147.20 GBP" in dearer.json()["detail"]
    placed = await act(shop, erp, name, "placement", order="PO-1", lines=[LINE])
    assert placed.status_code == 201
    approval, order = await events(shop, administrator, "reorder-approved", "order-placed")
    assert (approval["within_cap"], approval["quantity"], approval["seq"] + 1) == (True, 8.0, order["seq"])
    assert placed.json()["proposal"]["approval"]["within_cap"] is True
    assert (await act(shop, erp, name, "placement", order="PO-1", lines=[LINE])).status_code == 200


async def test_where_nothing_is_needed_the_cap_approves_nothing(
    shop: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """Else each order would open a further need; a manager may order it all the same."""
    await post(shop, administrator, cap())
    name, erp = await proposal(shop, administrator), await keys.make("integrator")
    await post(shop, administrator, received(100.0, None))
    refused = await act(shop, erp, name, "placement", order="PO-1", lines=[LINE])
    assert (refused.status_code, refused.json()["type"]) == (409, "/problems/approval-needed")
    empty = await act(shop, administrator, name, "approval")
    assert (empty.status_code, empty.json()["errors"][0]["pointer"]) == (422, "#/quantity")
    assert (await act(shop, administrator, name, "placement", order="PO-1", lines=[LINE])).status_code == 201


@pytest.mark.parametrize(
    ("line", "pointer"),
    [({"item": "bat-64"}, "#/lines/0/item"), ({"unit": "BX"}, "#/lines/0/unit"), ({"quantity": 0.0}, "#/lines")],
)
async def test_lines_are_of_the_proposal(
    shop: httpx.AsyncClient, administrator: Headers, line: Any, pointer: str
) -> None:
    """Another item, another unit and an order of nothing are refused with their place."""
    name = await proposal(shop, administrator)
    refused = await act(shop, administrator, name, "placement", order="PO-1", lines=[LINE | line])
    assert (refused.status_code, refused.json()["errors"][0]["pointer"]) == (422, pointer)


async def test_an_order_comes_in_parts(shop: httpx.AsyncClient, administrator: Headers) -> None:
    """Part of it, then all; a receipt that came before the order was told of counts, too."""
    name = await proposal(shop, administrator)
    await post(shop, administrator, received(3.0))
    placed = (await act(shop, administrator, name, "placement", order="PO-1", lines=[LINE])).json()["proposal"]
    assert (placed["state"], placed["order"]["lines"][0]["outstanding"]) == ("part-received", 5.0)
    await post(shop, administrator, received(5.0, line="10"))
    assert [one["id"] for one in await listed(shop, administrator, state="closed")] == [name]


async def test_an_order_is_called_off_once(shop: httpx.AsyncClient, administrator: Headers, keys: Keys) -> None:
    """What was called off is told again; what never was ordered, or has all come, is told apart."""
    name, erp = await proposal(shop, administrator), await keys.make("integrator")
    early = await act(shop, erp, name, "cancellation")
    assert (early.status_code, early.json()["state"], early.json()["order"]) == (409, "open", None)
    await act(shop, administrator, name, "placement", order="PO-1", lines=[LINE])
    await post(shop, administrator, received(3.0))
    first = await act(shop, erp, name, "cancellation")
    again = await act(shop, administrator, name, "cancellation", reason="another", by="p-9")
    assert (first.status_code, again.status_code) == (201, 200)
    assert again.json()["id"] == first.json()["id"]
    assert first.json()["proposal"]["state"] == "short"
    assert first.json()["proposal"]["order"]["cancelled"]["by"] == "p-1001"
    (event,) = await events(shop, administrator, "order-cancelled")
    assert (event["order"], event["proposal"], event["reason"]) == ("PO-1", name, "a mistake")


async def test_what_has_all_come_is_not_called_off(shop: httpx.AsyncClient, administrator: Headers) -> None:
    """It is closed, and stays so."""
    name = await proposal(shop, administrator)
    await act(shop, administrator, name, "placement", order="PO-1", lines=[LINE])
    await post(shop, administrator, received(8.0))
    refused = await act(shop, administrator, name, "cancellation")
    assert (refused.status_code, refused.json()["state"]) == (409, "closed")


async def test_of_two_orders_it_is_said_which(shop: httpx.AsyncClient, administrator: Headers) -> None:
    """Posted straight as an event a second order is recorded; each is called off by its number."""
    name = await proposal(shop, administrator)
    await act(shop, administrator, name, "placement", order="PO-1", lines=[LINE])
    await post(shop, administrator, message("order-placed", proposal=name, order="PO-2", lines=[LINE]))
    unsaid = await act(shop, administrator, name, "cancellation")
    assert (unsaid.status_code, "'PO-1' and 'PO-2'" in unsaid.json()["detail"]) == (409, True)
    for order in ("PO-2", "PO-1"):
        assert (await act(shop, administrator, name, "cancellation", order=order)).status_code == 201
    assert [one["state"] for one in await listed(shop, administrator, state="cancelled")] == ["cancelled"]


@pytest.mark.parametrize("role", ["site-app", "site-lead", "auditor", "worker-representative"])
async def test_other_roles_order_nothing(
    shop: httpx.AsyncClient, administrator: Headers, keys: Keys, role: Any
) -> None:
    """Nor does an integrator approve."""
    name, headers = await proposal(shop, administrator), await keys.make(role)
    for what, said in (("approval", {}), ("placement", {"order": "PO-1"}), ("cancellation", {})):
        assert (await act(shop, headers, name, what, **said)).status_code == 403
    assert (await act(shop, await keys.make("integrator"), name, "approval")).status_code == 403


async def test_a_named_request_is_answered_once(shop: httpx.AsyncClient, administrator: Headers) -> None:
    """With an Idempotency-Key the same bytes come again."""
    name, headers = await proposal(shop, administrator), administrator | {"idempotency-key": '"first"'}
    first, again = [await act(shop, headers, name, "approval") for _ in range(2)]
    assert (first.status_code, first.content) == (again.status_code, again.content)


async def test_an_approval_posted_without_authority_is_told_and_counts_for_nothing(
    shop: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """Beyond the cap, of no quantity, of no proposal: an integrator's; one within the cap is none."""
    await post(shop, administrator, cap(amount="147.20"))
    name, erp, manager = await proposal(shop, administrator), await keys.make("integrator"), await keys.make("manager")
    approvals = [message("reorder-approved", proposal=name, **said) for said in ({"quantity": 9.0}, {})]
    told = await post(shop, erp, *approvals, message("reorder-approved", proposal="pr-none", quantity=1.0))
    codes = ["approval-without-authority", "approval-without-authority", "unknown-proposal"]
    assert [one["conflicts"] for one in told] == [[{"code": code}] for code in codes]
    assert (await the_one(shop, administrator))["state"] == "open"
    (within,) = await post(
        shop, erp, message("reorder-approved", proposal=name, quantity=8.0, occurred_at=ago(seconds=0))
    )
    (managers,) = await post(shop, manager, message("reorder-approved", proposal=name, quantity=9.0))
    assert (within["conflicts"], managers["conflicts"]) == ([], [])
