"""Orders and what came of them as documents: an Order and a ReceiptAdvice of UBL 2.1, and the same as tables."""

from typing import Any

import httpx
import pytest

from service.outbound.ubl.documents import Order, ReceiptAdvice
from service.outbound.ubl.parts import Address, Delivery, Party
from service.outbound.ubl.reading import read
from service.outbound.ubl.sheet import read_sheet
from tests.http.document_firm import CSV, XML, send
from tests.http.firm import Headers, ago, message, post, site
from tests.http.keys import Keys
from tests.http.ordering_firm import act, day_of, item, received, shop, the_one
from tests.outbound.ubl_schemas import faults

__all__ = ["shop"]

LINE = {"line": "10", "item": "pf-170", "quantity": 60.0, "unit": "C62", "price": "18.40", "currency": "GBP"}
PLACED: dict[str, Any] = {"order": "PO/1", "supplier": "sup-4", "expected_on": "2030-03-16", "lines": [LINE]}


async def as_order(http: httpx.AsyncClient, key: Headers, proposal: str) -> Order:
    """Read the order of a proposal, the same in both forms."""
    found = [await http.get(f"/v1/reorders/{proposal}", headers=key | {"accept": form}) for form in (XML, CSV)]
    assert [answered.status_code for answered in found] == [200, 200], found[0].text
    assert found[1].headers["content-disposition"] == f'inline; filename="{proposal}.csv"'
    order = read(found[0].content, Order)
    assert (order.passed_over, read_sheet(found[1].content, Order)) == ((), order.document)
    return order.document


async def as_receipt(http: httpx.AsyncClient, key: Headers, proposal: str) -> ReceiptAdvice:
    """Read what came of a proposal, the same in both forms."""
    path = f"/v1/reorders/{proposal}/receipt"
    found = [await http.get(path, headers=key | {"accept": form}) for form in (XML, CSV)]
    assert [answered.status_code for answered in found] == [200, 200], found[0].text
    receipt = read(found[0].content, ReceiptAdvice)
    assert (receipt.passed_over, read_sheet(found[1].content, ReceiptAdvice)) == ((), receipt.document)
    return receipt.document


async def refused(http: httpx.AsyncClient, key: Headers, path: str) -> dict[str, Any]:
    """Ask for a document that there is not."""
    answered = await http.get(f"/v1/reorders/{path}", headers=key | {"accept": XML})
    assert answered.status_code == 409, answered.text
    return dict(answered.json())


async def test_nobody_orders_what_nobody_approved(shop: httpx.AsyncClient, administrator: Headers) -> None:
    """A proposal that is open is a 409 that says where it is approved; as JSON it is read all the same."""
    name = (await the_one(shop, administrator))["id"]
    told = await refused(shop, administrator, name)
    assert (told["type"], told["state"], told["order"]) == ("/problems/proposal-state", "open", None)
    assert told["detail"] == (
        f"There is no such document: proposal '{name}' is open. An order says what was approved: have a manager "
        f"approve it at /v1/reorders/{name}/approval, then ask again."
    )
    plain = await shop.get(f"/v1/reorders/{name}", headers=administrator | {"accept": f"{XML};q=0.5, application/json"})
    assert (plain.status_code, plain.json()["state"]) == (200, "open")
    assert (await shop.get(f"/v1/reorders/{name}", headers=administrator | {"accept": "text/html"})).status_code == 406


async def test_what_was_approved_is_an_order_under_its_own_name(
    shop: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """It is of the day of its approval and of as much as was approved; nobody has said a price or a supplier."""
    name = (await the_one(shop, administrator))["id"]
    approval = (await act(shop, administrator, name, "approval", quantity=12.0)).json()["proposal"]["approval"]
    told = await as_order(shop, await keys.make("auditor"), name)
    assert (told.id, told.proposal, str(told.issued_on)) == (name, name, day_of(approval["at"]))
    assert told.currency is None
    assert told.buyer == Party(name="Harrow Fabrication", address=Address(lines=("1 Dock Road",)))
    assert (told.supplier, told.delivery) == (Party(), Delivery(site="harrow-dock", name="Harrow-Dock"))
    (line,) = told.lines
    assert (line.id, str(line.quantity.value), line.quantity.unit, line.price) == ("1", "12", "C62", None)
    assert (line.item.item, line.item.name) == ("pf-170", "Particle filter 170")


async def test_what_was_placed_is_an_order_under_its_number(shop: httpx.AsyncClient, administrator: Headers) -> None:
    """Number, supplier, day, lines and prices are those of the order, also once all of it has come."""
    name = (await the_one(shop, administrator))["id"]
    order = (await act(shop, administrator, name, "placement", **PLACED)).json()["proposal"]["order"]
    told = await as_order(shop, administrator, name)
    assert (told.id, told.proposal, str(told.issued_on)) == ("PO/1", name, day_of(order["placed"]["at"]))
    assert told.currency == "GBP"
    assert told.supplier == Party(id="sup-4")
    assert told.delivery is not None
    assert (told.delivery.site, str(told.delivery.latest)) == ("harrow-dock", "2030-03-16")
    (line,) = told.lines
    assert line.price is not None
    assert line.total is not None
    assert (line.id, str(line.price.amount), str(line.total.amount)) == ("10", "18.4", "1104")
    await post(shop, administrator, received(60.0, "PO/1", line="10"))
    assert await as_order(shop, administrator, name) == told


async def test_an_order_is_valid_under_the_published_schema(shop: httpx.AsyncClient, administrator: Headers) -> None:
    """Approved and placed, and so is the receipt of what came."""
    name = (await the_one(shop, administrator))["id"]
    wanted, found = administrator | {"accept": XML}, []
    await act(shop, administrator, name, "approval", quantity=60.0)
    found.append(await shop.get(f"/v1/reorders/{name}", headers=wanted))
    await act(shop, administrator, name, "placement", **PLACED)
    found.append(await shop.get(f"/v1/reorders/{name}", headers=wanted))
    await post(shop, administrator, received(4.0, "PO/1", lot="L-1", expires="2031-05"))
    found.append(await shop.get(f"/v1/reorders/{name}/receipt", headers=wanted))
    assert [(answered.status_code, faults(answered.content)) for answered in found] == [(200, [])] * 3


async def test_what_was_called_off_is_no_order(shop: httpx.AsyncClient, administrator: Headers) -> None:
    """Whoever got it as a document might order it again."""
    name = (await the_one(shop, administrator))["id"]
    await act(shop, administrator, name, "placement", **PLACED)
    await act(shop, administrator, name, "cancellation")
    told = await refused(shop, administrator, name)
    assert (told["type"], told["state"], told["order"]) == ("/problems/proposal-state", "cancelled", "PO/1")
    assert told["detail"].endswith("It was called off, so that nothing is to be ordered.")


async def test_an_approval_of_no_quantity_is_no_order(shop: httpx.AsyncClient, administrator: Headers) -> None:
    """Posted as an event it need not say how much: the answer names the event that is to be voided."""
    name = (await the_one(shop, administrator))["id"]
    said = message("reorder-approved", proposal=name)
    await post(shop, administrator, said)
    told = await refused(shop, administrator, name)
    assert told["detail"].endswith(f"Nobody said how much: void event {said['id']} and approve it with a quantity.")


async def test_what_no_document_can_say_is_told_by_its_place(shop: httpx.AsyncClient, administrator: Headers) -> None:
    """An item counted in tins has no unit that others know; counted in each it is one piece."""
    name = (await the_one(shop, administrator))["id"]
    await post(shop, administrator, item(unit="tin", occurred_at=ago(minutes=2)))
    tins = (await act(shop, administrator, name, "approval", quantity=60.0)).json()["id"]
    told = await refused(shop, administrator, name)
    assert (told["type"], [one["pointer"] for one in told["errors"]]) == (
        "/problems/cannot-be-written",
        ["#/lines/0/unit"],
    )
    assert told["detail"].startswith("/lines/0/unit: must be a code of UN/ECE Recommendation 20 such as C62 (one)")
    await post(shop, administrator, item(unit="each", occurred_at=ago(minutes=1)))
    await post(shop, administrator, message("voided", event=tins, reason="not in tins"))
    await act(shop, administrator, name, "approval", quantity=60.0)
    assert (await as_order(shop, administrator, name)).lines[0].quantity.unit == "C62"
    await act(shop, administrator, name, "placement", order="PO/1")
    await post(shop, administrator, received(4.0, "PO/1", unit="each"), received(1.0, "PO/1", unit="tin"))
    told = await refused(shop, administrator, f"{name}/receipt")
    assert (told["type"], [one["pointer"] for one in told["errors"]]) == (
        "/problems/cannot-be-written",
        ["#/events/1/unit"],
    )


async def test_an_address_is_printed_line_by_line(shop: httpx.AsyncClient, administrator: Headers) -> None:
    """Of more lines than a document has, the last has the rest; empty ones are left out."""
    name = (await the_one(shop, administrator))["id"]
    await act(shop, administrator, name, "approval", quantity=60.0)
    employer = {"name": "Harrow Fabrication", "address": "\n \n".join(f"line  {nth}" for nth in range(1, 13))}
    await post(shop, administrator, site("harrow-dock", employer=employer))
    address = (await as_order(shop, administrator, name)).buyer.address
    assert address is not None
    assert address.lines == (*(f"line {nth}" for nth in range(1, 10)), "line 10, line 11, line 12")


async def test_what_came_is_a_receipt(shop: httpx.AsyncClient, administrator: Headers) -> None:
    """A line for each receipt of the order at its site, by lot; with more it has a new number, and none comes back."""
    name = (await the_one(shop, administrator))["id"]
    told = await refused(shop, administrator, f"{name}/receipt")
    assert (told["state"], told["detail"].endswith("Nothing was ordered yet.")) == ("open", True)
    await act(shop, administrator, name, "placement", **PLACED)
    told = await refused(shop, administrator, f"{name}/receipt")
    assert (told["state"], told["detail"].endswith("Nothing of it has come yet.")) == ("placed", True)
    lot = received(4.0, "PO/1", line="10", lot="L-1", expires="2031-05")
    first, *_ = await post(shop, administrator, lot, received(9.0, "PO-2"), received(1.0, "PO/1", site="east-yard"))
    receipt = await as_receipt(shop, administrator, name)
    assert (receipt.id, receipt.orders, receipt.supplier.id) == (f"{name}-{first['seq']}", ("PO/1",), "sup-4")
    (line,) = receipt.lines
    assert line.received is not None
    assert line.answers is not None
    assert line.item is not None
    assert (str(line.received.value), line.answers.line, line.item.item) == ("4", "10", "pf-170")
    assert [(one.lot, str(one.expires)) for one in line.item.instances] == [("L-1", "2031-05-31")]
    assert str(line.received_on) == str(receipt.issued_on)
    (second,) = await post(shop, administrator, received(2.0, "PO/1"))
    more = await as_receipt(shop, administrator, name)
    assert (more.id, [str(one.received.value) for one in more.lines if one.received]) == (
        f"{name}-{second['seq']}",
        ["4", "2"],
    )
    back = await send(shop, administrator, more, site="harrow-dock")
    assert (back.status_code, back.json()["type"]) == (422, "/problems/bad-document")


async def test_of_one_number_for_two_needs_each_receipt_has_its_own(
    shop: httpx.AsyncClient, administrator: Headers
) -> None:
    """Six came for four of the first and four of the second: four are told of the one, and two of the other."""
    lines = [{"line": "1", "item": "pf-170", "quantity": 4.0, "unit": "C62"}]
    names = []
    for _ in range(2):
        names.append((await the_one(shop, administrator, state="open"))["id"])
        await act(shop, administrator, names[-1], "placement", order="PO/1", lines=lines)
    await post(shop, administrator, received(4.0, "PO/1", line="1"))
    told = await refused(shop, administrator, f"{names[1]}/receipt")
    assert told["detail"].endswith("Nothing of it has come yet.")
    await post(shop, administrator, received(2.0, "PO/1"))
    receipts = [await as_receipt(shop, administrator, name) for name in names]
    assert [[str(one.received.value) for one in receipt.lines if one.received] for receipt in receipts] == [
        ["4"],
        ["2"],
    ]


async def test_another_sites_order_is_no_order(shop: httpx.AsyncClient, administrator: Headers, keys: Keys) -> None:
    """To a key of the yard the dock's proposal is not there, in no form."""
    name = (await the_one(shop, administrator))["id"]
    await act(shop, administrator, name, "placement", **PLACED)
    yard = await keys.make("manager", ["east-yard"])
    for path in (name, f"{name}/receipt"):
        for form in (XML, CSV):
            assert (await shop.get(f"/v1/reorders/{path}", headers=yard | {"accept": form})).status_code == 404


@pytest.mark.parametrize("accept", ["application/json", "text/plain"])
async def test_a_receipt_is_a_document_alone(shop: httpx.AsyncClient, administrator: Headers, accept: str) -> None:
    """What came is read as JSON at the proposal; here there are the two forms of documents."""
    name = (await the_one(shop, administrator))["id"]
    answered = await shop.get(f"/v1/reorders/{name}/receipt", headers=administrator | {"accept": accept})
    assert (answered.status_code, answered.json()["offered"]) == (406, [XML, CSV])


async def test_pieces_that_were_approved_are_not_ordered_as_boxes(
    shop: httpx.AsyncClient, administrator: Headers
) -> None:
    """The item is counted in boxes since: the paper asks for eight pieces, and a placement has to say what it is of."""
    name = (await the_one(shop, administrator))["id"]
    await act(shop, administrator, name, "approval", quantity=8.0)
    await post(shop, administrator, item(unit="XBX", occurred_at=ago(seconds=0)))
    paper = await shop.get(f"/v1/reorders/{name}", headers=administrator | {"accept": "application/xml"})
    assert '<cbc:Quantity unitCode="C62">8</cbc:Quantity>' in paper.text
    bare = await act(shop, administrator, name, "placement", order="PO-1")
    (told,) = bare.json()["errors"]
    assert (bare.status_code, told["pointer"]) == (422, "#/lines/0/unit")
    read = (await shop.get(f"/v1/reorders/{name}", headers=administrator)).json()
    assert (read["state"], read["unit"], read["quantity"], read["cost"]) == ("approved", "XBX", None, None)
