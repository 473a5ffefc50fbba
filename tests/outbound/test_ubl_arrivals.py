"""What despatches bring, what receipts add to stock, and stock as a receipt."""

from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

import pytest
from msgspec.structs import replace

from service.domain.errors import BadDocument
from service.domain.kinds.order_placed import OrderLine
from service.domain.kinds.stock_received import StockReceived
from service.outbound.ubl.documents import DespatchAdvice, ReceiptAdvice
from service.outbound.ubl.events.on_the_way import Coming, OnTheWay, ToFollow, on_the_way
from service.outbound.ubl.events.receipt import Papers, as_receipt
from service.outbound.ubl.events.received import Arrival, Missed, arrived, event_id
from service.outbound.ubl.parts import Delivery, Instance, Item, Measure, OrderLineRef, Shipment
from service.outbound.ubl.reading import read
from service.outbound.ubl.sheet import read_sheet, sheet
from service.outbound.ubl.writing import written
from tests.outbound.ubl_documents import BUYER, ISSUED, SUPPLIER, many
from tests.outbound.ubl_schemas import faults
from tests.outbound.ubl_trade import FIRM, GOODS, ID, ORDER, PLACED, answers, came, despatch, receipt, sent

OF: dict[str, Any] = {"order": ORDER, "order_line": "10", "item": "pf-170", "unit": "C62"}
LOT = Instance(lot="L2411", expires=date(2029, 5, 31))
LOTS = "names several lots, and not how many of each: send a line for each lot"
PAPERS = Papers(number="RA-1", issued_on=ISSUED, buyer=BUYER, supplier=SUPPLIER, shipment="sh-9", despatches=("DA-3",))


def coming(number: float, **told: Any) -> Coming:
    """Say that so many of the first line are on the way."""
    return Coming(**OF | {"line": "1", "quantity": number} | told)


def missed(fate: Any, number: float, **told: Any) -> Missed:
    """Say that so many of the first line are not in store."""
    return Missed(**OF | {"line": "1", "fate": fate, "quantity": number} | told)


def stock(advice: ReceiptAdvice, **told: Any) -> Arrival:
    """Say what a receipt adds to the stock of the dock."""
    sender: dict[str, Any] = {"organisation": FIRM, "by": "erp", "site": "harrow-dock"}
    return arrived(advice, GOODS, **sender | told)


def event(number: float, **told: Any) -> StockReceived:
    """Say that so many of the first line came."""
    made: dict[str, Any] = {
        "id": event_id(FIRM, "harrow-dock", "", "RA-1", "1", 0),
        "occurred_on": ISSUED,
        "by": "erp",
    }
    goods: dict[str, Any] = {"site": "harrow-dock", "item": "pf-170", "quantity": number, "unit": "C62"}
    return StockReceived(**made | goods | {"order": ORDER, "line": "10"} | told)


def test_a_despatch_brings_its_lines_by_lot() -> None:
    """Each line says order, line, item, quantity, unit, lot and expiry; what follows later is told apart."""
    more = sent(
        "2",
        id="2",
        item=Item(gtin="9521101530018", instances=(Instance(serial="a", lot="L1"), Instance(serial="b", lot="L2"))),
        backorder=many("12"),
        outstanding=many("8"),
    )
    there = Delivery(site="harrow-dock", latest=date(2026, 12, 9))
    advice = despatch(
        sent("40", item=Item(item="pf-170", instances=(LOT, LOT))),
        more,
        sent("0", id="3", outstanding=many("1")),
        shipment=Shipment(id="sh-9", delivery=there, despatched_on=date(2026, 11, 30)),
    )
    assert on_the_way(advice, GOODS) == OnTheWay(
        despatch="DA-3",
        sent_on=date(2026, 11, 30),
        site="harrow-dock",
        expected_on=date(2026, 12, 9),
        lines=(
            coming(40.0, lot="L2411", expires="2029-05-31"),
            coming(1.0, line="2", lot="L1"),
            coming(1.0, line="2", lot="L2"),
        ),
        to_follow=(
            ToFollow(line="2", backorder=12.0, outstanding=8.0, **OF),
            ToFollow(line="3", backorder=0.0, outstanding=1.0, **OF),
        ),
    )


def test_a_line_without_goods_is_of_those_of_its_order() -> None:
    """Where a line names no goods, the order that is known says which; it also says in what they are counted."""
    boxes = replace(PLACED, lines=(OrderLine(line="10", item="pf-170", quantity=5.0, unit="XBX"),))
    line = sent("40", item=Item(), answers=answers(order=None))
    assert on_the_way(despatch(line), GOODS, {ORDER: PLACED}).lines == (coming(40.0),)
    box = replace(line, despatched=Measure(value=Decimal(2), unit="XBX"))
    assert on_the_way(despatch(box), GOODS, {ORDER: boxes}).lines == (coming(2.0, unit="XBX"),)
    assert on_the_way(despatch(sent("1", answers=answers("99"))), GOODS, {ORDER: replace(PLACED, lines=())}).lines == (
        coming(1.0, order_line="99"),
    )


@pytest.mark.parametrize(
    ("advice", "pointer", "detail"),
    [
        (despatch(sent("1", item=Item(item="pf-999"))), "/item/item", "pf-999 is no item that is defined here"),
        (
            despatch(sent("1", item=Item(), answers=answers(order="PO-9"))),
            "/item",
            "is needed: our reference, a GTIN or a part number",
        ),
        (despatch(sent("1", answers=answers("99"))), "/answers/line", f"99 is no line of {ORDER}"),
        (
            despatch(sent("1", item=Item(item="pf-171"))),
            "/item",
            f"is pf-171, and line 10 of {ORDER} is of pf-170",
        ),
        (
            despatch(sent("1", answers=answers(order=None)), orders=(ORDER, "PO-9")),
            "/answers/order",
            f"is needed: the document names {ORDER}, PO-9",
        ),
        (
            despatch(sent("1", despatched=Measure(value=Decimal(2), unit="XBX"))),
            "/despatched/unit",
            "XBX is not the C62 that pf-170 is counted in",
        ),
        (
            despatch(sent("3", item=Item(item="pf-170", instances=(LOT, Instance(lot="L2"))))),
            "/item/instances",
            LOTS,
        ),
        (
            despatch(sent("2", item=Item(item="pf-170", instances=(LOT, Instance(lot="L2411"))))),
            "/item/instances",
            LOTS,
        ),
        (
            despatch(
                sent(
                    "2",
                    item=Item(item="pf-170", instances=(Instance(serial="a", lot="1"), Instance(serial="a", lot="2"))),
                )
            ),
            "/item/instances",
            LOTS,
        ),
    ],
)
def test_a_despatch_of_who_knows_what_is_refused(advice: DespatchAdvice, pointer: str, detail: str) -> None:
    """Goods, orders, units and lots that cannot be told are faults of their line, with its pointer."""
    with pytest.raises(BadDocument) as error:
        on_the_way(advice, GOODS, {ORDER: PLACED})
    assert [(fault.pointer, fault.detail) for fault in error.value.faults] == [(f"/lines/0{pointer}", detail)]


def test_stock_grows_by_what_was_received_and_not_refused() -> None:
    """Thirty-six came, two of them were refused, and two more were missed: thirty-four are in store."""
    line = came(
        "36",
        short=many("2"),
        rejected=many("2"),
        reject_reason="wet through",
        received_on=date(2026, 12, 2),
        item=Item(part_number="170-220", instances=(LOT,)),
    )
    assert stock(receipt(line)) == Arrival(
        events=(event(34.0, occurred_on=date(2026, 12, 2), lot="L2411", expires="2029-05-31"),),
        missed=(missed("short", 2.0), missed("rejected", 2.0, reason="wet through")),
        lines=("1",),
    )


def test_what_is_short_or_refused_whole_adds_nothing() -> None:
    """A line of which nothing was taken makes no event, however it says so."""
    short = came("0", short=many("40"))
    refused = came("5", id="2", rejected=many("5"))
    told = came("5", id="3", received=None, rejected=many("5"))
    assert stock(receipt(short, refused, told)) == Arrival(
        missed=(missed("short", 40.0), missed("rejected", 5.0, line="2"), missed("rejected", 5.0, line="3"))
    )


def test_the_day_is_that_of_the_line_else_of_the_delivery_else_of_the_receipt() -> None:
    """The nearest day to the goods counts; the site that the receipt names is theirs."""
    shipment = Shipment(id="sh-9", delivery=Delivery(site="kiel", done_on=date(2026, 12, 1)))
    lines = (came("1", received_on=date(2026, 12, 2)), came("1", id="2"))
    found = stock(receipt(*lines, shipment=shipment), site=None).events
    assert [(one.site, one.occurred_on) for one in found] == [
        ("kiel", date(2026, 12, 2)),
        ("kiel", date(2026, 12, 1)),
    ]
    assert stock(receipt(came("1"))).events[0].occurred_on == ISSUED


def test_a_line_without_an_order_is_stock_all_the_same() -> None:
    """Goods that nobody ordered came; a receipt of one order alone is of that."""
    assert stock(receipt(came("1", answers=None), orders=())).events == (event(1.0, order=None, line=None),)
    assert stock(receipt(came("1", answers=None))).events == (event(1.0, line=None),)


def test_a_receipt_that_comes_again_is_the_same_events() -> None:
    """Ids follow from firm, site, supplier, receipt and line: as XML, as a table and twice, each is one event."""
    named = (Instance(serial="a", lot="L1"), Instance(serial="b", lot="L2"))
    advice = receipt(came("2", item=Item(item="pf-170", instances=named)), came("3", id="2"))
    events = stock(advice).events
    assert [one.id for one in events] == [
        UUID("d0b781af-bc08-5993-b77c-2201044fe8d8"),
        UUID("c7bcc413-6772-51c7-844a-d014bec95777"),
        UUID("02e271d1-12d4-5e8f-bda6-294db76fc4d9"),
    ]
    again = read(written(advice), ReceiptAdvice).document
    assert stock(again).events == stock(read_sheet(sheet(advice), ReceiptAdvice)).events == events
    others = {
        event_id(FIRM, "harrow-dock", "sup-4", "RA-1", "1", 0),
        event_id(ID, "harrow-dock", "sup-4", "RA-1", "1", 0),
        event_id(FIRM, "east-yard", "sup-4", "RA-1", "1", 0),
        event_id(FIRM, "harrow-dock", "sup-5", "RA-1", "1", 0),
        event_id(FIRM, "harrow-dock", "sup-4", "RA-2", "1", 0),
        event_id(FIRM, "harrow-dock", "sup-4", "RA-1", "11", 0),
        event_id(FIRM, "harrow-dock", "sup-4", "RA-11", "1", 0),
    }
    assert len(others) == 7


@pytest.mark.parametrize(
    ("advice", "told", "found"),
    [
        (
            receipt(came("2", rejected=many("3")), came("1", id="2", item=Item(item="pf-999"))),
            {},
            [
                ("/lines/0/rejected/value", "is more than was received: what was refused is among what was received"),
                ("/lines/1/item/item", "pf-999 is no item that is defined here"),
            ],
        ),
        (
            receipt(came("2")),
            {"site": None},
            [("/shipment/delivery/site", "is needed: the site that received the goods")],
        ),
        (
            receipt(came("2"), shipment=Shipment(id="1", delivery=Delivery(site="kiel"))),
            {},
            [("/shipment/delivery/site", "is not harrow-dock, for which the receipt was sent")],
        ),
        (
            receipt(came("2"), shipment=Shipment(id="1", delivery=Delivery(site="the dock"))),
            {"site": None},
            [
                (
                    "/shipment/delivery/site",
                    "must be a reference: 1 to 40 of the characters A-Z a-z 0-9 . _ -",
                )
            ],
        ),
        (
            receipt(came("3", item=Item(item="pf-170", instances=(LOT, Instance(lot="L2"))))),
            {},
            [("/lines/0/item/instances", LOTS)],
        ),
    ],
)
def test_a_receipt_that_cannot_be_recorded_is_refused(
    advice: ReceiptAdvice, told: dict[str, Any], found: list[tuple[str, str]]
) -> None:
    """All that is wrong with a receipt is told at once, with pointers into it."""
    with pytest.raises(BadDocument) as error:
        stock(advice, **told)
    assert [(fault.pointer, fault.detail) for fault in error.value.faults] == found


def test_stock_is_a_receipt_for_its_supplier() -> None:
    """Events and what was missed are lines of a valid document, that says the same when it is read."""
    late = datetime(2026, 12, 2, 23, 30, tzinfo=UTC)
    arrival = Arrival(
        events=(
            event(34.0, lot="L2411", expires="2029-05"),
            event(1.0, occurred_on=None, occurred_at=late, order=None, line=None),
        ),
        missed=(missed("short", 2.0), missed("rejected", 2.0, reason="wet through")),
    )
    told = as_receipt(arrival, PAPERS, GOODS, ZoneInfo("Europe/Berlin"))
    assert faults(written(told)) == []
    assert (told.id, told.orders, told.despatches, told.buyer, told.supplier) == (
        *("RA-1", (ORDER,), ("DA-3",), BUYER),
        SUPPLIER,
    )
    assert [line.id for line in told.lines] == ["1", "2", "3", "4"]
    assert [line.received_on for line in told.lines] == [ISSUED, date(2026, 12, 3), None, None]
    assert told.lines[0].answers == OrderLineRef(line="10", order=ORDER)
    assert told.lines[1].answers is None
    again = stock(read(written(told), ReceiptAdvice).document)
    assert [(one.quantity, one.lot, one.expires) for one in again.events] == [
        (34.0, "L2411", "2029-05-31"),
        (1.0, None, None),
    ]
    assert again.missed == (missed("short", 2.0, line="3"), missed("rejected", 2.0, line="4", reason="wet through"))


@pytest.mark.parametrize(
    ("arrival", "pointer", "detail"),
    [
        (Arrival(), "/events", "is needed: a receipt says what came, or what was missed"),
        (
            Arrival(events=(event(1.0), event(1.0, site="kiel"))),
            "/events",
            "is of several sites (harrow-dock, kiel): a receipt has one",
        ),
        (
            Arrival(events=(event(1.0), event(1.0, item="pf-999"))),
            "/events/1/item",
            "pf-999 is no item that is defined here",
        ),
        (
            Arrival(events=(event(1.0, unit="CT"),)),
            "/events/0/unit",
            "CT is a package and no unit: as a unit it is XCT (UN/ECE Recommendation 21)",
        ),
        (
            Arrival(missed=(missed("short", 0.00001),)),
            "/missed/0/quantity",
            "a quantity is 0 to 1000000 with at most 4 decimals",
        ),
    ],
)
def test_stock_that_no_receipt_can_say_is_told(arrival: Arrival, pointer: str, detail: str) -> None:
    """Faults have pointers into the events and into what was missed."""
    with pytest.raises(BadDocument) as error:
        as_receipt(arrival, PAPERS, GOODS, UTC)
    assert [(fault.pointer, fault.detail) for fault in error.value.faults] == [(pointer, detail)]
