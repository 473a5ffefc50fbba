"""What is to be ordered: the proposals of sites, with all that they follow from."""

from datetime import UTC, datetime, timedelta
from typing import Any

import httpx

from service.domain.ordering.naming import proposal_id
from service.http.shapes.reorders import OPEN
from tests.http.adding_up import adds_up
from tests.http.doors import FOREIGN
from tests.http.firm import Headers, Message, ago, message, model, post, registered, site
from tests.http.keys import Keys
from tests.http.ordering_firm import act, cap, counted, in_week, item, listed, received, shop, swapped, the_one, used

__all__ = ["shop"]


async def test_a_proposal_can_be_followed(shop: httpx.AsyncClient, administrator: Headers) -> None:
    """Two a week are six in three weeks of lead time and look: what is there is not above what covers them."""
    found = await the_one(shop, administrator)
    told = found["arithmetic"]
    assert (found["site"], found["item"], found["unit"], found["state"]) == ("harrow-dock", "pf-170", "C62", "open")
    assert (told["lead_days"], told["lead_from"], told["protected_days"], told["level"]) == (14.0, "stated", 21.0, 0.95)
    assert round(told["use_mean"], 6) == 6.0
    assert (told["in_stock"], told["on_order"], told["owed"], told["position"]) == (6.0, 0.0, 0.0, 6.0)
    assert told["wanted"] == told["order_up_to"] - 6
    assert found["quantity"] == told["rounded"] == -(-told["wanted"] // 4) * 4
    assert found["forecast"]["unforeseen"]["method"] == "croston"
    assert found["forecast"]["unforeseen"]["pattern"] == "smooth"
    assert found["forecast"]["foretold"]["pattern"] == "none"
    assert found["cost"] == {"amount": f"{found['quantity'] * 18.4:.2f}", "currency": "GBP"}
    assert (found["approval"], found["order"], found["other_orders"], found["transfers"]) == (None, None, [], [])
    assert str(told["reorder_point"]) in found["because"]
    assert (told["use_variance"], told["family"]) == (told["use_mean"], "poisson")
    adds_up(found)


def test_what_is_described_adds_up() -> None:
    """The example of a proposal is one that there can be."""
    adds_up(OPEN)
    assert OPEN["cost"]["amount"] == f"{OPEN['quantity'] * 18.4:.2f}"


async def test_every_proposal_adds_up(shop: httpx.AsyncClient, administrator: Headers) -> None:
    """With a shelf life, odd packs, a minimum, no pack at all, something owed, a wave of changes, and a transfer."""
    limit = {"service_limit": {"days": 180}}
    units = [registered(f"HD-{nth}", occurred_at=ago(days=170)) for nth in range(9)]
    others: list[Any] = []
    for nth, said in enumerate(
        [
            {"pack_size": 7.0, "minimum_order": 10.0, "shelf_life_months": 1},
            {"pack_size": 0.3, "lead_time_days": 0},
            {"pack_size": 0.0, "minimum_order": 0.0, "shelf_life_months": 24, "lead_time_days": 60},
            {"minimum_order": 500.0, "shelf_life_months": 36},
        ]
    ):
        new: dict[str, Any] = {"in": {"item": f"x-{nth}", "condition": "new"}}
        others += [
            item(item=f"x-{nth}", **said),
            counted(4.5, item=f"x-{nth}"),
            *(swapped(0.3 + 5.5 * week * (1 + week % 3), **new) for week in range(10)),
            received(9.0, None, item=f"x-{nth}", lot="L-1", expires="2020-01"),
        ]
    await post(shop, administrator, item(**limit), *units, *others, counted(3.0, "east-yard"))
    await post(shop, administrator, *(swapped(0.01 * nth) for nth in range(1, 9)))
    found = await listed(shop, administrator)
    assert [one["item"] for one in found] == ["pf-170", "x-0", "x-1", "x-2", "x-3"]
    for one in found:
        adds_up(one)
    told = {one["item"]: one["arithmetic"] for one in found}
    assert told["pf-170"]["use_from"]["changes"] >= 9
    assert (told["pf-170"]["transferred"], told["pf-170"]["owed"]) == (3.0, 2.0)
    assert told["x-0"]["in_stock"] == told["x-0"]["expiring"] > 0
    assert told["x-1"]["protected_days"] == 7.0


async def test_what_is_there_in_another_unit_is_told(shop: httpx.AsyncClient, administrator: Headers) -> None:
    """Fifty boxes of what is counted in pieces: they are not added up, and whoever decides is told of them."""
    await post(shop, administrator, received(50.0, None, unit="BX"))
    found = await the_one(shop, administrator)
    assert found["arithmetic"]["in_other_units"] == [{"unit": "BX", "quantity": 50.0}]
    assert found["arithmetic"]["in_stock"] == 6.0
    assert found["because"].endswith("What is there in other units is not counted: 50 BX.")


async def test_many_other_units_leave_the_list_as_it_is_described(
    shop: httpx.AsyncClient, administrator: Headers
) -> None:
    """Of 120 that somebody wrote a hundred are listed and five are told in words."""
    units = [f"U{nth:03d}{'x' * 36}" for nth in range(120)]
    await post(shop, administrator, *(received(1.0, None, unit=unit) for unit in units))
    found = await the_one(shop, administrator)
    assert [one["unit"] for one in found["arithmetic"]["in_other_units"]] == units[:100]
    assert found["because"].endswith(f", 1 {units[4]} and 115 units more.")


async def test_words_have_no_endless_numbers(shop: httpx.AsyncClient, administrator: Headers) -> None:
    """Of seven that expire in three days four days' use at two a week is left, and that is no whole number."""
    soon = (datetime.now(UTC).date() + timedelta(days=3)).isoformat()
    came = received(7.0, None, lot="C", expires=soon)
    await post(shop, administrator, counted(0.0, occurred_at=ago(minutes=3)), came)
    found = await the_one(shop, administrator)
    position = found["arithmetic"]["position"]
    assert 0 < position < 7
    assert found["because"].startswith(f"{round(position, 4)} are there or on their way, ")
    assert len(found["because"].split(" ")[0]) <= len("1.1429")


async def test_where_nothing_is_used_it_is_not_said_that_nothing_is_more_than_nothing(
    shop: httpx.AsyncClient, administrator: Headers
) -> None:
    """Before anything was there or used none are there, and that is not above a reorder point of none."""
    found = await the_one(shop, administrator)
    asked = {"as_at": ago(days=120)}
    told = (await shop.get(f"/v1/reorders/{found['id']}", params=asked, headers=administrator)).json()
    assert (told["arithmetic"]["position"], told["arithmetic"]["reorder_point"]) == (0.0, 0)
    assert told["because"].endswith("owed: no use is known or expected, so nothing is needed.")


async def test_what_is_late_is_told_wherever_it_counts(shop: httpx.AsyncClient, administrator: Headers) -> None:
    """Four were to come six weeks ago: they count, so that nothing is ordered twice, and are told as late.

    Once they are called off they are neither on their way nor late.
    """
    first = await the_one(shop, administrator)
    day = ago(days=45)[:10]
    line = {"line": "10", "item": "pf-170", "quantity": 4.0, "unit": "C62"}
    said = {"proposal": first["id"], "order": "PO-1", "lines": [line], "expected_on": day}
    await post(shop, administrator, message("order-placed", occurred_at=ago(days=60), **said))
    placed, further = await listed(shop, administrator)
    assert placed["order"]["overdue_since"][:10] >= day
    assert placed["because"].endswith(f"placed, and overdue: it was to come by {day}.")
    assert (further["arithmetic"]["on_order"], further["arithmetic"]["position"]) == (4.0, 10.0)
    assert further["arithmetic"]["late"] == {"quantity": 4.0, "since": day}
    assert f"4 of what is on its way were expected by {day} and have not come." in further["because"]
    report = (await shop.get("/v1/exceptions/order-overdue", headers=administrator)).json()
    assert [row["site"] for row in report["rows"]] == ["harrow-dock"]
    await act(shop, administrator, first["id"], "cancellation")
    left = await the_one(shop, administrator)
    assert (left["id"], left["arithmetic"]["on_order"], left["arithmetic"]["late"]) == (further["id"], 0.0, None)


async def test_the_same_need_has_the_same_id(shop: httpx.AsyncClient, administrator: Headers) -> None:
    """One more is used: the quantity may change, the id does not; it is read at its address."""
    before = await the_one(shop, administrator)
    await post(shop, administrator, swapped(0.1), swapped(0.2))
    after = await the_one(shop, administrator)
    assert before["id"] == after["id"]
    assert after["arithmetic"]["in_stock"] == 4.0
    read = (await shop.get(f"/v1/reorders/{after['id']}", headers=administrator)).json()
    assert {name: read[name] for name in after} == after


async def test_where_enough_is_there_nothing_is_proposed(shop: httpx.AsyncClient, administrator: Headers) -> None:
    """The id is known all the same, for whoever holds it."""
    found = await the_one(shop, administrator)
    await post(shop, administrator, received(100.0, None))
    assert await listed(shop, administrator) == []
    read = (await shop.get(f"/v1/reorders/{found['id']}", headers=administrator)).json()
    assert (read["state"], read["quantity"]) == ("open", 0.0)
    assert read["because"].endswith("nothing is needed.")


async def test_what_another_site_can_spare_comes_first(
    shop: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """The yard uses none of its three: they are moved, and the rest is bought. Who does not read the yard sees none."""
    await post(shop, administrator, counted(3.0, "east-yard"))
    found = await the_one(shop, administrator, site="harrow-dock")
    wanted = found["arithmetic"]["wanted"]
    assert found["transfers"] == [{"from_site": "east-yard", "quantity": 3.0, "lot": None, "expires": None}]
    assert found["arithmetic"]["transferred"] == 3.0
    assert found["quantity"] == -(-(wanted - 3) // 4) * 4
    alone = await the_one(shop, await keys.make("site-lead", ["harrow-dock"]))
    assert (alone["id"], alone["transfers"]) == (found["id"], [])
    moved = {"site": "east-yard", "to_site": "harrow-dock", "item": "pf-170", "quantity": 3.0, "unit": "C62"}
    await post(shop, administrator, message("stock-moved", occurred_at=ago(minutes=1), **moved))
    after = await the_one(shop, administrator, site="harrow-dock")
    assert (after["arithmetic"]["in_stock"], after["transfers"], after["id"]) == (9.0, [], found["id"])


async def test_where_a_transfer_is_enough_nothing_is_bought(shop: httpx.AsyncClient, administrator: Headers) -> None:
    """The yard has fifty: what is wanted is moved; a piece that has expired there is none to send."""
    await post(shop, administrator, counted(50.0, "east-yard"), counted(9.0, "east-yard", lot="L-1", expires="2020-01"))
    found = await the_one(shop, administrator, site="harrow-dock")
    (moved,) = found["transfers"]
    assert (moved["from_site"], moved["quantity"]) == ("east-yard", found["arithmetic"]["wanted"])
    assert (found["quantity"], found["cost"]) == (0.0, {"amount": "0.00", "currency": "GBP"})


async def test_changes_of_what_is_fitted_are_foreseen(http: httpx.AsyncClient, administrator: Headers) -> None:
    """Twelve filters fitted together at their limit of 180 days next week: nothing was used, and twelve are needed."""
    tags = [f"FX-{nth}" for nth in range(12)]
    limit = {"service_limit": {"days": 180}}
    sites = [site("harrow-dock"), site("east-yard"), model()]
    units = [registered(tag, occurred_at=ago(days=174)) for tag in tags]
    await post(http, administrator, *sites, item(**limit), *units)
    found = await the_one(http, administrator)
    assert {one["asset"] for one in found["condition"]} == set(tags)
    assert {one["because"] for one in found["condition"]} == {"service-limit"}
    assert (found["arithmetic"]["use_mean"], found["arithmetic"]["in_stock"]) == (12.0, 0.0)
    assert found["forecast"]["unforeseen"]["pattern"] == "none"
    assert found["quantity"] >= 12


async def test_open_recalls_are_met(shop: httpx.AsyncClient, administrator: Headers) -> None:
    """The filter of the recalled lot is owed a change today; once the recall is closed, nothing is."""
    bad: Any = {"item": "pf-170", "condition": "new", "lot": "L-BAD"}
    await post(shop, administrator, swapped(0.05, **{"in": bad}))
    recall = {"recall": "rc-1", "action": "stop-use", "criteria": [{"item": "pf-170", "lot": "L-BAD"}]}
    await post(shop, administrator, message("recall-opened", occurred_at=ago(minutes=30), **recall))
    assert [one["because"] for one in (await the_one(shop, administrator))["condition"]] == ["recall"]
    away = {"outstanding": [{"asset": "FX-0142", "reason": "in a container at sea"}]}
    await post(shop, administrator, message("recall-closed", recall="rc-1", occurred_at=ago(minutes=1), **away))
    assert (await the_one(shop, administrator))["condition"] == []


async def test_a_site_that_is_closed_needs_nothing(shop: httpx.AsyncClient, administrator: Headers) -> None:
    """From the day after its last: nothing is listed, nor proposed to who knows the id, nor approved unless he says."""
    found = await the_one(shop, administrator)
    await post(shop, administrator, site("harrow-dock", closed_on=ago(days=3)[:10]))
    assert await listed(shop, administrator) == []
    read = (await shop.get(f"/v1/reorders/{found['id']}", headers=administrator)).json()
    assert (read["quantity"], read["arithmetic"]["limits"], read["transfers"]) == (0.0, ["closed"], [])
    assert read["because"].endswith(": the site is closed, so nothing is proposed.")
    assert (await act(shop, administrator, found["id"], "approval")).status_code == 422


async def test_a_site_that_is_closed_spares_all_it_has(shop: httpx.AsyncClient, administrator: Headers) -> None:
    """The yard used two a week like the dock and has twelve, less than it was filled up to; now all go to the dock."""
    unit = registered("FX-9", site="east-yard", occurred_at=ago(days=150))
    await post(shop, administrator, unit, counted(40.0, "east-yard"), *used(tag="FX-9", site="east-yard"))
    assert (await the_one(shop, administrator, site="harrow-dock"))["transfers"] == []
    await post(shop, administrator, site("east-yard", closed_on=ago(days=3)[:10]))
    found = await the_one(shop, administrator, site="harrow-dock")
    assert [(one["from_site"], one["quantity"]) for one in found["transfers"]] == [("east-yard", 12.0)]
    assert found["quantity"] == 0.0


async def test_where_nobody_said_how_much_comes_nothing_more_is_proposed(
    shop: httpx.AsyncClient, administrator: Headers
) -> None:
    """An order without lines goes on: the next need is proposed neither in the list nor at its address."""
    found = await the_one(shop, administrator)
    await post(shop, administrator, message("order-placed", proposal=found["id"], order="PO-1"))
    assert [one["state"] for one in await listed(shop, administrator)] == ["placed"]
    following = proposal_id("harrow-dock", "pf-170", 1)
    read = (await shop.get(f"/v1/reorders/{following}", headers=administrator)).json()
    assert (read["state"], read["quantity"], read["arithmetic"]["limits"]) == ("open", 0.0, ["untold"])
    assert "how much is on its way nobody said" in read["because"]
    assert (await act(shop, administrator, following, "approval")).status_code == 422


async def test_what_is_on_order_is_not_ordered_again(shop: httpx.AsyncClient, administrator: Headers) -> None:
    """It is approved and ordered: the list has it as placed, and no further need."""
    found = await the_one(shop, administrator)
    await act(shop, administrator, found["id"], "placement", order="PO-1")
    placed = await the_one(shop, administrator)
    assert (placed["id"], placed["state"], placed["quantity"]) == (found["id"], "placed", found["quantity"])
    assert placed["order"]["lines"][0]["outstanding"] == found["quantity"]
    assert (placed["arithmetic"], placed["forecast"], placed["condition"]) == (None, None, [])


async def test_a_further_need_has_another_id(shop: httpx.AsyncClient, administrator: Headers) -> None:
    """Four are ordered where more are needed: what is missing is proposed anew, with the four in its position."""
    first = await the_one(shop, administrator)
    line = {"line": "10", "item": "pf-170", "quantity": 4.0, "unit": "C62"}
    await act(shop, administrator, first["id"], "placement", order="PO-1", lines=[line])
    placed, further = await listed(shop, administrator)
    assert (placed["id"], placed["state"]) == (first["id"], "placed")
    assert further["id"] != first["id"]
    assert (further["arithmetic"]["on_order"], further["arithmetic"]["position"]) == (4.0, 10.0)


async def test_orders_that_came_tell_how_long_they_take(shop: httpx.AsyncClient, administrator: Headers) -> None:
    """Nine days from the order to its receipt: beside the fourteen that are stated, since it is one order alone."""
    found = await the_one(shop, administrator)
    line = {"line": "10", "item": "pf-170", "quantity": 1.0, "unit": "C62"}
    said = {"proposal": found["id"], "order": "PO-1", "lines": [line], "occurred_on": ago(days=11)[:10]}
    came = {"site": "harrow-dock", "item": "pf-170", "quantity": 1.0, "unit": "C62", "order": "PO-1"}
    receipt = message("stock-received", occurred_on=ago(days=2)[:10], **came)
    await post(shop, administrator, message("order-placed", **said), receipt)
    told = (await the_one(shop, administrator))["arithmetic"]
    assert (told["lead_from"], told["lead_days"]) == ("observed-and-stated", 11.5)


async def test_proposals_are_listed_by_site_and_state(
    shop: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """Those that have ended are listed where they are asked for; a site's key sees its own."""
    found = await the_one(shop, administrator)
    await act(shop, administrator, found["id"], "placement", order="PO-1")
    await act(shop, administrator, found["id"], "cancellation")
    assert [one["state"] for one in await listed(shop, administrator)] == ["open"]
    assert [one["id"] for one in await listed(shop, administrator, state="cancelled")] == [found["id"]]
    assert await listed(shop, administrator, state="placed") == []
    assert await listed(shop, administrator, item="bat-64") == []
    assert await listed(shop, administrator, site="east-yard") == []
    assert await listed(shop, await keys.make("site-lead", ["east-yard"])) == []


async def test_pages_lead_through_all_proposals(shop: httpx.AsyncClient, administrator: Headers) -> None:
    """One at a time, in the order of sites and items; a table has all at once."""
    units = [registered(f"YD-{nth}", site="east-yard", occurred_at=ago(days=174)) for nth in range(3)]
    limit = {"service_limit": {"days": 180}}
    await post(shop, administrator, item(**limit), item(item="bat-64", name="Battery", **limit), *units)
    every = [(one["site"], one["item"]) for one in await listed(shop, administrator)]
    assert every == [("east-yard", "bat-64"), ("east-yard", "pf-170"), ("harrow-dock", "pf-170")]
    seen, asked = [], {"limit": "1"}
    while True:
        page = (await shop.get("/v1/reorders", params=asked, headers=administrator)).json()
        seen += [(one["site"], one["item"]) for one in page["reorders"]]
        if page["next"] is None:
            break
        asked = {"limit": "1", "after": page["next"]}
    assert seen == every
    table = await shop.get("/v1/reorders", headers=administrator | {"accept": "text/csv"})
    assert len(table.text.strip().splitlines()) == 4


async def test_a_page_goes_on_looking_until_it_has_something(shop: httpx.AsyncClient, administrator: Headers) -> None:
    """A hundred and thirty items need nothing, and stand before the one that does: the first page has it.

    Past two hundred that need nothing a page ends empty; the one behind it has the row, and nothing comes after.
    """
    await post(shop, administrator, *_of_no_need(0, 130))
    assert [one["item"] for one in await listed(shop, administrator, limit="5")] == ["pf-170"]
    await post(shop, administrator, *_of_no_need(130, 210))
    pages: list[Any] = []
    after: dict[str, str] = {}
    while len(pages) < 9:
        page = (await shop.get("/v1/reorders", params=after, headers=administrator)).json()
        pages.append([one["item"] for one in page["reorders"]])
        after = {"after": page["next"]}
        if page["next"] is None:
            break
    assert pages == [[], ["pf-170"]]


def _of_no_need(first: int, end: int) -> list[Message]:
    names = [f"a-{nth:03}" for nth in range(first, end)]
    return [said for name in names for said in (item(item=name), counted(50.0, item=name))]


async def test_nobody_reads_what_is_not_theirs(shop: httpx.AsyncClient, administrator: Headers, keys: Keys) -> None:
    """Another site's and another firm's proposal is a 404 like one that never was, at each of its doors."""
    found = await the_one(shop, administrator)
    elsewhere, foreign = await keys.make("manager", ["east-yard"]), await keys.make("manager", organisation=FOREIGN)
    for headers in (elsewhere, foreign):
        read = await shop.get(f"/v1/reorders/{found['id']}", headers=headers)
        never = await shop.get("/v1/reorders/pr-never", headers=headers)
        assert (read.status_code, read.json()) == (404, never.json())
        for what, said in (("approval", {}), ("placement", {"order": "PO-1"}), ("cancellation", {})):
            assert (await act(shop, headers, found["id"], what, **said)).status_code == 404


async def test_a_miscount_put_right_is_no_use(shop: httpx.AsyncClient, administrator: Headers) -> None:
    """None are counted in an earlier week where twelve are, and twelve a quarter of an hour later: nothing changes."""
    before = await the_one(shop, administrator)
    wrong, right = [counted(found, occurred_at=in_week(3, days)) for found, days in ((0.0, 1), (12.0, 1.01))]
    await post(shop, administrator, wrong, right)
    after = await the_one(shop, administrator)
    names = ("use_mean", "use_variance", "reorder_point", "order_up_to", "in_stock")
    assert {name: after["arithmetic"][name] for name in names} == {name: before["arithmetic"][name] for name in names}


async def test_orders_of_another_site_do_not_shorten_what_is_stated(
    shop: httpx.AsyncClient, administrator: Headers
) -> None:
    """Three orders of the yard came the day after; the dock's supplier takes the thirty days that are stated."""
    said: list[Any] = [item(lead_time_days=30, occurred_at=ago(seconds=3))]
    goods = {"item": "pf-170", "quantity": 8.0, "unit": "C62"}
    for nth in range(3):
        order = {
            "proposal": f"erp-{nth}",
            "order": f"PO-{nth}",
            "site": "east-yard",
            "lines": [{"line": "10", **goods}],
        }
        came = {"site": "east-yard", "order": f"PO-{nth}", **goods}
        gone = {"site": "east-yard", "reason": "lost", **goods}
        said += [
            message("order-placed", occurred_at=ago(days=20 - nth), **order),
            message("stock-received", occurred_at=ago(days=19 - nth), **came),
            message("stock-discarded", occurred_at=ago(days=18.5 - nth), **gone),
        ]
    await post(shop, administrator, *said)
    told = (await the_one(shop, administrator, site="harrow-dock"))["arithmetic"]
    assert (told["lead_days"], told["lead_from"]) == (30.0, "stated")


async def test_a_change_that_names_no_site_counts_where_its_unit_was(
    shop: httpx.AsyncClient, administrator: Headers
) -> None:
    """A unit of the yard has its filter changed twice a week, and no event names a site: the yard has used as the dock.

    So it has once the unit is moved to the dock.
    """
    unit = registered("FX-9", site="east-yard", occurred_at=ago(days=150))
    nowhere = [{name: said for name, said in one.items() if name != "site"} for one in used(tag="FX-9")]
    await post(shop, administrator, unit, counted(34.0, "east-yard"), *nowhere)
    dock = await the_one(shop, administrator, site="harrow-dock")
    yard = await the_one(shop, administrator, site="east-yard")
    names = ("use_mean", "reorder_point", "in_stock", "owed", "wanted")
    assert {name: yard["arithmetic"][name] for name in names} == {name: dock["arithmetic"][name] for name in names}
    await post(shop, administrator, message("moved", asset="FX-9", to_site="harrow-dock", occurred_at=ago(minutes=1)))
    after = await the_one(shop, administrator, site="east-yard")
    assert {name: after["arithmetic"][name] for name in names} == {name: dock["arithmetic"][name] for name in names}


async def test_a_site_that_nothing_names_is_listed(shop: httpx.AsyncClient, administrator: Headers) -> None:
    """The yard's unit lost its filter again and again, and is gone by now; no event of it names the yard."""
    unit = registered("FX-9", site="east-yard", occurred_at=ago(days=150))
    nowhere = [{name: said for name, said in one.items() if name != "site"} for one in used(tag="FX-9")]
    await post(shop, administrator, unit, *nowhere, message("retired", asset="FX-9", reason="worn-out"))
    assert [one["site"] for one in await listed(shop, administrator, item="pf-170")] == ["east-yard", "harrow-dock"]
    answered = await shop.get("/v1/consumption", params={"from": ago(days=90)[:10]}, headers=administrator)
    assert {one["site"] for one in answered.json()["periods"]} == {"east-yard", "harrow-dock"}


async def test_an_id_that_was_told_stays_one(shop: httpx.AsyncClient, administrator: Headers) -> None:
    """The approval of the first is taken back: the second is still read, and what is approved of it is on its way."""
    first = await the_one(shop, administrator)
    approval = (await act(shop, administrator, first["id"], "approval", quantity=1.0)).json()
    _, second = await listed(shop, administrator)
    await post(shop, administrator, message("voided", event=approval["id"], reason="too few"))
    assert [one["id"] for one in await listed(shop, administrator)] == [first["id"]]
    read = await shop.get(f"/v1/reorders/{second['id']}", headers=administrator)
    assert (read.status_code, read.json()["state"], read.json()["quantity"]) == (200, "open", first["quantity"])
    assert (await act(shop, administrator, second["id"], "approval")).status_code == 201
    again = await shop.get(f"/v1/reorders/{first['id']}", headers=administrator)
    assert (again.json()["state"], again.json()["quantity"]) == ("open", 0.0)


async def test_what_an_approval_rested_on_is_told_for_good(shop: httpx.AsyncClient, administrator: Headers) -> None:
    """Whatever comes, is fitted or is told of afterwards: numbers, forecast and changes are those of then."""
    await post(shop, administrator, item(service_limit={"days": 30}), counted(3.0, "east-yard"))
    before = await the_one(shop, administrator, site="harrow-dock")
    approved = (await act(shop, administrator, before["id"], "approval")).json()["proposal"]
    await act(shop, administrator, before["id"], "placement", order="PO-1")
    await post(shop, administrator, received(4.0), swapped(0.01), item(pack_size=10.0), counted(90.0, "east-yard"))
    late = (await shop.get(f"/v1/reorders/{before['id']}", headers=administrator)).json()
    assert before["condition"] != []
    assert [one["from_site"] for one in before["transfers"]] == ["east-yard"]
    for told in (approved, late):
        for name in ("arithmetic", "forecast", "condition", "transfers"):
            assert told[name] == before[name]
        assert told["because"].startswith(f"{before['because']} Approved by p-1001 on ")
    assert (late["state"], late["order"]["lines"][0]["received"]) == ("part-received", 4.0)


async def test_a_proposal_is_told_as_it_was(shop: httpx.AsyncClient, administrator: Headers) -> None:
    """As at a moment and by what was known then: open, approved, placed; with both clocks, byte for byte again."""
    before = (await the_one(shop, administrator))["id"]
    path, moments = f"/v1/reorders/{before}", list[str]()
    acts: dict[str, Any] = {"approval": {"quantity": 8.0}, "placement": {"order": "PO-1"}, "cancellation": {}}
    asked = (await shop.get(path, headers=administrator)).json()
    for what, said in acts.items():
        moments.append((await shop.get(path, headers=administrator)).json()["known_at"])
        assert (await act(shop, administrator, before, what, **said)).status_code == 201
    clocks: list[dict[str, str]] = [{"known_at": at} for at in moments] + [{"as_at": at} for at in moments]
    told = [(await shop.get(path, params=one, headers=administrator)).json() for one in clocks]
    assert [one["state"] for one in told] == ["open", "approved", "placed"] * 2
    assert [one["quantity"] for one in told] == [asked["quantity"], 8.0, 8.0] * 2
    assert [one["projection"] for one in told] == [True, True, True, False, False, False]
    both = {"known_at": moments[1], "as_at": moments[1]}
    first, again = [await shop.get(path, params=both, headers=administrator) for _ in range(2)]
    assert first.content == again.content
    assert (first.json()["as_at"], first.json()["known_at"]) == (moments[1], moments[1])
    xml = administrator | {"accept": "application/xml"}
    document = await shop.get(path, params={"known_at": moments[2]}, headers=xml)
    assert "<cbc:ID>PO-1</cbc:ID>" in document.text
    assert (await shop.get(path, headers=xml)).json()["state"] == "cancelled"


async def test_nobody_is_told_of_a_need_before_there_was_one(shop: httpx.AsyncClient, administrator: Headers) -> None:
    """The next need is there once the first was acted on; before, and before the item was defined, it is not."""
    first = (await the_one(shop, administrator))["id"]
    early = (await shop.get(f"/v1/reorders/{first}", headers=administrator)).json()["known_at"]
    await act(shop, administrator, first, "approval", quantity=1.0)
    path = f"/v1/reorders/{(await the_one(shop, administrator, state='open'))['id']}"
    statuses = [
        (await shop.get(path, params=asked, headers=administrator)).status_code
        for asked in ({}, {"known_at": early}, {"known_at": "2001-01-01T00:00:00Z"}, {"known_at": ago(hours=-1)})
    ]
    assert statuses == [200, 404, 404, 400]
    assert (await shop.get(f"{path}/receipt", params={"as_at": "now"}, headers=administrator)).status_code == 400


async def test_a_currency_is_one_that_there_is(http: httpx.AsyncClient, administrator: Headers) -> None:
    """A code that ISO 4217 does not have is refused at its place."""
    refused = await http.post("/v1/events", json=item(currency="ZZZ"), headers=administrator)
    assert (refused.status_code, refused.json()["errors"][0]["pointer"]) == (422, "#/currency")
    assert (await http.post("/v1/events", json=item(currency="EUR"), headers=administrator)).status_code == 201
    line = {"line": "1", "item": "pf-170", "quantity": 4.0, "unit": "C62", "price": "1.00", "currency": "GBP"}
    order = message(
        "order-placed", proposal="pr-1", order="PO-1", lines=[line, line | {"line": "2", "currency": "ZZZ"}]
    )
    for said, pointer in ((order, "#/lines/1/currency"), (cap(currency="ZZZ"), "#/values/currency")):
        refused = await http.post("/v1/events", json=said, headers=administrator)
        assert (refused.status_code, refused.json()["errors"][0]["pointer"]) == (422, pointer)


async def test_of_many_lots_from_a_site_one_sentence_is_told(shop: httpx.AsyncClient, administrator: Headers) -> None:
    """Twelve lots of one piece each are twelve transfers, and come from the yard."""
    lots = [counted(1.0, "east-yard", lot=f"L-{nth}", expires="2099-01") for nth in range(20)]
    await post(shop, administrator, *lots)
    found = await the_one(shop, administrator, site="harrow-dock")
    assert len(found["transfers"]) == 12
    assert found["because"].count("east-yard") == 1
    assert "12 come from east-yard, which can spare them." in found["because"]


async def test_what_is_missing_is_told_as_such(shop: httpx.AsyncClient, administrator: Headers) -> None:
    """Eight more are fitted than there were."""
    await post(shop, administrator, *(swapped(0.01 * nth) for nth in range(1, 15)))
    found = await the_one(shop, administrator)
    assert found["arithmetic"]["position"] == -8.0
    assert found["because"].startswith("8 are missing beyond all that is there or on its way: ")
