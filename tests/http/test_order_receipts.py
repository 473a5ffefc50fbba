"""What a store received, sent as UBL and as tables: it is recorded, once."""

from datetime import date, datetime
from typing import Any

import httpx
import pytest
from msgspec.structs import replace

from service.http.describing.document_examples import RECEIPT
from service.outbound.ubl.documents import ReceiptLine
from service.outbound.ubl.parts import Delivery, Instance, Item, OrderLineRef, Party, Shipment
from service.outbound.ubl.writing import written
from tests.http.document_firm import CSV, DOOR, LINE, ORDER, XML, places, send, stock, store
from tests.http.firm import Headers, ago, message, post
from tests.http.keys import Keys
from tests.http.ordering_firm import LONDON, act, shop, the_one
from tests.outbound.ubl_documents import many

__all__ = ["shop", "store"]


@pytest.mark.parametrize("media", [XML, "text/xml", CSV])
async def test_a_receipt_is_recorded_once(
    store: httpx.AsyncClient, administrator: Headers, keys: Keys, media: str
) -> None:
    """Forty came and four were refused: thirty-six are in stock, of the order's line; sent again they are repeated."""
    erp = await keys.make("integrator")
    first, again = [await send(store, erp, RECEIPT, media) for _ in range(2)]
    (one,) = first.json()["results"]
    assert (first.status_code, again.status_code) == (207, 207)
    assert (one["line"], one["status"], one["outcome"], one["conflicts"]) == ("1", 201, "recorded", [])
    assert first.headers["ledger-position"] == str(one["seq"])
    assert again.json()["results"] == [one | {"status": 200, "outcome": "repeated"}]
    assert first.json() | {"results": []} == {
        "document": "receipt-advice",
        "id": "RA-1",
        "orders": [{"order": ORDER, "proposals": ["pr-harrow-dock"]}],
        "results": [],
        "missed": [
            {
                "fate": "rejected",
                "line": "1",
                "order": ORDER,
                "order_line": "10",
                "item": "pf-170",
                "quantity": 4.0,
                "unit": "C62",
                "reason": "wet through",
            }
        ],
        "passed_over": [],
        "more_passed_over": 0,
    }
    assert await stock(store, administrator) == [("pf-170", "C62", "L2411", "2029-05-31", 36.0)]
    event = (await store.get(f"/v1/events/{one['id']}", headers=administrator)).json()
    told = [event[name] for name in ("kind", "by", "occurred_on", "order", "line", "site")]
    assert told == ["stock-received", "p-1004", "2026-03-19", ORDER, "10", "harrow-dock"]


async def test_the_same_receipt_is_one_in_whatever_form(store: httpx.AsyncClient, administrator: Headers) -> None:
    """Sent as UBL and then as a table, it is recorded once; under its old number it may say nothing else."""
    await send(store, administrator, RECEIPT)
    table = await send(store, administrator, RECEIPT, CSV)
    other = await send(store, administrator, replace(RECEIPT, lines=(replace(LINE, received=many("41")),)))
    by_other = await send(store, administrator, RECEIPT, by="p-1005")
    assert [one["outcome"] for one in table.json()["results"]] == ["repeated"]
    for clash in (other, by_other):
        (told,) = clash.json()["results"]
        assert (clash.status_code, told["status"], told["problem"]["type"]) == (207, 409, "/problems/content-clash")
    assert await stock(store, administrator) == [("pf-170", "C62", "L2411", "2029-05-31", 36.0)]


async def test_one_number_of_two_suppliers_or_sites_is_two_receipts(
    store: httpx.AsyncClient, administrator: Headers
) -> None:
    """Each numbers by itself: all of it is recorded, and each sent again is a repeat."""
    line = replace(LINE, answers=OrderLineRef(line="10", order="PO-YARD"))
    yard = replace(RECEIPT, orders=("PO-YARD",), shipment=None, lines=(line,))
    nameless = replace(RECEIPT, supplier=Party(name="Sixways Supply"))
    sent = [(RECEIPT, "harrow-dock"), (replace(RECEIPT, supplier=Party(id="sup-5")), "harrow-dock")]
    sent += [(nameless, "harrow-dock"), (yard, "east-yard")]
    for outcome in ("recorded", "repeated"):
        told = [(await send(store, administrator, one, site=where)).json()["results"][0] for one, where in sent]
        assert [one["outcome"] for one in told] == [outcome] * 4
    assert await stock(store, administrator) == [("pf-170", "C62", "L2411", "2029-05-31", 108.0)]
    assert await stock(store, administrator, "east-yard") == [("pf-170", "C62", "L2411", "2029-05-31", 36.0)]


async def test_each_lot_and_line_has_a_result_of_its_own(store: httpx.AsyncClient, administrator: Headers) -> None:
    """Pieces that are named are told apart by lot; what was all refused has no result; an item's own unit is kept."""
    serials = tuple(Instance(serial=f"S-{nth}", lot=lot) for nth, lot in enumerate(("L-1", "L-1", "L-2")))
    lots = ReceiptLine(id="a", received=many("3"), item=Item(item="pf-171", instances=serials))
    refused = ReceiptLine(
        id="b", received=many("2"), rejected=many("2"), reject_reason="torn", item=Item(item="pf-170")
    )
    answered = await send(store, administrator, replace(RECEIPT, lines=(lots, refused)))
    assert [(one["line"], one["status"]) for one in answered.json()["results"]] == [("a", 201), ("a", 201)]
    assert [(one["line"], one["fate"]) for one in answered.json()["missed"]] == [("b", "rejected")]
    assert await stock(store, administrator) == [
        ("pf-171", "each", "L-1", None, 2.0),
        ("pf-171", "each", "L-2", None, 1.0),
    ]


async def test_what_cannot_be_accepted_is_refused_by_itself_and_kept(
    store: httpx.AsyncClient, administrator: Headers
) -> None:
    """A line of a day that has not come yet is a 422 among the results and is kept; the other is recorded."""
    late = replace(LINE, id="2", received_on=date(2190, 1, 1))
    answered = await send(store, administrator, replace(RECEIPT, lines=(LINE, late)))
    good, bad = answered.json()["results"]
    assert (answered.status_code, good["status"], bad["line"], bad["status"]) == (207, 201, "2", 422)
    assert bad["problem"]["type"] == "/problems/in-the-future"
    (kept,) = (await store.get("/v1/rejected", headers=administrator)).json()["rejected"]
    assert kept["rejected"] == bad["rejected"]


async def test_a_receipt_says_who_and_where(store: httpx.AsyncClient, administrator: Headers) -> None:
    """Without a person it is a 400 that names the parameter; `site` says the place where the receipt does not."""
    nobody = await store.post(DOOR, content=written(RECEIPT), headers=administrator | {"content-type": XML})
    assert (nobody.status_code, nobody.json()["errors"][0]["parameter"]) == (400, "by")
    bare = replace(RECEIPT, shipment=None)
    assert places(await send(store, administrator, bare)) == [
        ("/ReceiptAdvice/cac:Shipment", "is needed: the site that received the goods")
    ]
    assert places(await send(store, administrator, RECEIPT, site="east-yard")) == [
        (
            "/ReceiptAdvice/cac:Shipment/cac:Delivery/cac:DeliveryLocation/cbc:ID",
            "is not east-yard, for which the receipt was sent",
        )
    ]
    assert (await send(store, administrator, bare, site="west-yard")).status_code == 404
    assert (await send(store, administrator, bare, site="east-yard")).json()["results"][0]["status"] == 201
    assert await stock(store, administrator, "east-yard") == [("pf-170", "C62", "L2411", "2029-05-31", 36.0)]


async def test_a_key_of_a_site_sends_receipts_of_that_site(
    store: httpx.AsyncClient, administrator: Headers, keys: Keys
) -> None:
    """What names another site is a 403, as an event would be, and asked for that site a 404; its own is recorded."""
    yard = await keys.make("integrator", ["east-yard"])
    there = await send(store, yard, RECEIPT)
    asked = await send(store, yard, replace(RECEIPT, shipment=None), site="harrow-dock")
    assert [(one.status_code, one.json()["type"]) for one in (there, asked)] == [
        (403, "/problems/forbidden"),
        (404, "/problems/not-found"),
    ]
    line = replace(LINE, answers=OrderLineRef(line="10", order="PO-YARD"))
    own = replace(RECEIPT, orders=("PO-YARD",), shipment=None, lines=(line,))
    assert (await send(store, yard, own, site="east-yard")).json()["results"][0]["status"] == 201
    assert await stock(store, administrator) == []


BAD = replace(
    RECEIPT,
    shipment=Shipment(id="SH-9", delivery=Delivery(site="west-yard")),
    lines=(
        replace(LINE, item=Item(item="pf-999")),
        replace(LINE, id="2", answers=OrderLineRef(line="99", order=ORDER)),
        replace(LINE, id="3", received=replace(many("1"), unit="XBX"), rejected=None, answers=None),
    ),
)
WRONG = [
    ("cac:Shipment/cac:Delivery/cac:DeliveryLocation/cbc:ID", "row 2, column shipment.delivery.site"),
    ("cac:ReceiptLine[1]/cac:Item/cac:BuyersItemIdentification/cbc:ID", "row 2, column line.item.item"),
    ("cac:ReceiptLine[2]/cac:OrderLineReference/cbc:LineID", "row 3, column line.answers.line"),
    ("cac:ReceiptLine[3]/cbc:ReceivedQuantity/@unitCode", "row 4, column line.received.unit"),
]


async def test_all_that_is_wrong_is_told_at_once_in_its_place(store: httpx.AsyncClient, administrator: Headers) -> None:
    """An unknown site, item and line, and another unit: each is an XPath, or a row and a column; nothing is taken."""
    said = [
        "is no site that is defined here",
        "pf-999 is no item that is defined here",
        f"99 is no line of {ORDER}",
        "XBX is not the C62 that pf-170 is counted in",
    ]
    for media, expected in (
        (XML, [f"/ReceiptAdvice/{path}" for path, _ in WRONG]),
        (CSV, [cell for _, cell in WRONG]),
    ):
        assert places(await send(store, administrator, BAD, media)) == list(zip(expected, said, strict=True))
    assert await stock(store, administrator) == []
    assert (await store.get("/v1/rejected", headers=administrator)).json()["rejected"] == []


async def test_what_was_written_here_does_not_come_again(store: httpx.AsyncClient, administrator: Headers) -> None:
    """A receipt under a number of our own says what is in stock already."""
    own = replace(RECEIPT, id="pr-426426cf002f99975ddc-38")
    assert places(await send(store, administrator, own)) == [
        ("/ReceiptAdvice/cbc:ID", "is the number of a receipt that was written here: what it says is in stock already")
    ]


async def test_a_lot_that_nobody_sees_is_refused_where_it_stands(
    store: httpx.AsyncClient, administrator: Headers
) -> None:
    """As a blank one is; nothing of the document is recorded."""
    pieces = tuple(Instance(serial=f"S-{nth}", lot=lot) for nth, lot in enumerate(("L-1", "\ufeff\u200b")))
    line = ReceiptLine(id="a", received=many("2"), item=Item(item="pf-171", instances=pieces))
    answered = await send(store, administrator, replace(RECEIPT, lines=(line,)))
    assert places(answered) == [
        (
            "/ReceiptAdvice/cac:ReceiptLine/cac:Item/cac:ItemInstance[2]/cac:LotIdentification/cbc:LotNumberID",
            "must be one line of text that says something, without control characters",
        )
    ]
    assert await stock(store, administrator) == []


async def test_a_receipt_has_as_many_events_as_a_batch(store: httpx.AsyncClient, administrator: Headers) -> None:
    """A thousand and two lots are refused whole with the bound."""
    lots = tuple(Instance(serial=f"S-{nth}", lot=f"L-{nth}") for nth in range(501))
    lines = [ReceiptLine(id=name, received=many("501"), item=Item(item="pf-170", instances=lots)) for name in "ab"]
    answered = await send(store, administrator, replace(RECEIPT, lines=tuple(lines)))
    assert (answered.status_code, answered.json()["limit"]) == (413, 1_000)
    assert await stock(store, administrator) == []


async def test_a_named_request_is_answered_with_the_same_bytes(
    store: httpx.AsyncClient, administrator: Headers
) -> None:
    """The same again is answered as it was, not as a repeat; by another person it is another request."""
    key = administrator | {"idempotency-key": '"receipt-1"'}
    first, again = [await send(store, key, RECEIPT) for _ in range(2)]
    other = await send(store, key, RECEIPT, by="p-1005")
    assert first.content == again.content
    assert (other.status_code, other.json()["type"]) == (422, "/problems/another-request")


async def test_what_came_today_is_not_ordered_again_though_the_rest_is_called_off(
    shop: httpx.AsyncClient, administrator: Headers
) -> None:
    """Four of twelve came by a receipt of today, which is in stock once the day is over: eight more are needed."""
    before = await the_one(shop, administrator)
    await act(shop, administrator, before["id"], "placement", order="PO-1")
    today = datetime.now(LONDON).date()
    four = replace(LINE, answers=OrderLineRef(line="1", order="PO-1"), received=many("4"), rejected=None)
    four = replace(four, reject_reason=None, received_on=today)
    said = replace(RECEIPT, orders=("PO-1",), issued_on=today, lines=(four,))
    assert (await send(shop, administrator, said)).json()["results"][0]["outcome"] == "recorded"
    ended = await act(shop, administrator, before["id"], "cancellation")
    now = await the_one(shop, administrator, state="open")
    assert (before["quantity"], ended.status_code) == (12.0, 201)
    assert (now["quantity"], now["arithmetic"]["on_order"], now["arithmetic"]["position"]) == (8.0, 4.0, 10.0)


@pytest.mark.parametrize(
    "said",
    [
        {"kind": "stock-received", "site": "harrow-dock"},
        {"kind": "stock-received", "site": "harrow-dock", "order": "PO-77"},
        {"kind": "stock-received", "site": "harrow-dock", "occurred_at": ""},
        {"kind": "stock-moved", "site": "east-yard", "to_site": "harrow-dock"},
    ],
)
async def test_what_came_today_of_no_order_is_not_ordered_either(
    shop: httpx.AsyncClient, administrator: Headers, said: dict[str, Any]
) -> None:
    """Four were received, or moved there, on the day: it is in stock once that is over, and on its way until then.

    So is what a fast clock tells of, and a receipt for an order that was placed elsewhere.
    """
    day = datetime.now(LONDON).date().isoformat()
    when = {"occurred_at": ago(minutes=-4)} if "occurred_at" in said else {"occurred_on": day}
    await post(shop, administrator, message(**said | when, item="pf-170", quantity=4.0, unit="C62"))
    now = await the_one(shop, administrator)
    told = now["arithmetic"]
    assert (now["quantity"], told["in_stock"], told["on_order"], told["position"]) == (8.0, 6.0, 4.0, 10.0)
