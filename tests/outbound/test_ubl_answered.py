"""What a response makes of an order of ours."""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from msgspec.structs import replace

from service.domain.errors import BadDocument
from service.outbound.ubl.documents import OrderResponse, ResponseLine
from service.outbound.ubl.events.answered import Answer, Said, answer
from service.outbound.ubl.parts import Delivery, Item, Measure, Price
from tests.outbound.ubl_documents import many
from tests.outbound.ubl_trade import GOODS, ORDER, PLACED, answers, response, said

AS_ORDERED = {"item": "pf-170", "quantity": 60.0, "unit": "C62", "price": Decimal("4.60"), "currency": "GBP"}
TUBE = Said(line="20", outcome="accepted", item="tube", quantity=2.5, unit="MTR")
MEASURE_BOX = Measure(value=Decimal(3), unit="XBX")


def answered(told: OrderResponse) -> Answer:
    """Hold a response against the order."""
    return answer(told, PLACED, GOODS)


def line(outcome: Any, **told: Any) -> Said:
    """Say what becomes of the first line."""
    return Said(**{"line": "10", "outcome": outcome} | AS_ORDERED | told)


@pytest.mark.parametrize(("code", "outcome"), [("AP", "accepted"), ("RE", "rejected")])
def test_a_word_for_the_whole_order_is_one_for_each_line(code: Any, outcome: Any) -> None:
    """Accepted or refused as a whole, each line is, and the day that is promised for all holds for each."""
    day = date(2026, 12, 3)
    told = answered(response(code, delivery=Delivery(earliest=day)))
    assert told == Answer(
        order=ORDER,
        response="OR-7",
        outcome=outcome,
        promised_on=day,
        lines=(line(outcome, promised_on=day), replace(TUBE, outcome=outcome, promised_on=day)),
    )


@pytest.mark.parametrize(("code", "outcome"), [("AB", "received"), (None, "received"), ("CA", "changed")])
def test_of_lines_that_nothing_is_said_of_nothing_is_assumed(code: Any, outcome: Any) -> None:
    """A receipt of the order, and a change of it, leave lines open that they are silent about."""
    assert answered(response(code)) == Answer(
        order=ORDER, response="OR-7", outcome=outcome, lines=(), unanswered=("10", "20")
    )


@pytest.mark.parametrize(
    ("told", "made"),
    [
        (said(status="5"), line("accepted")),
        (said(), line("accepted")),
        (said(status="NoStatus", quantity=many("60.0")), line("accepted")),
        (said(status="42"), line("accepted")),
        (said(status="5", quantity=Measure(value=Decimal(60), unit="EA")), line("accepted")),
        (
            said(status="5", price=Price(amount=Decimal("18.4"), currency="GBP", per=many("4"))),
            line("accepted", price=Decimal("4.6")),
        ),
        (said(status="7", quantity=many("60")), line("rejected")),
        (said(status="Cancelled", quantity=many("0")), line("rejected", quantity=0.0)),
        (said(status="3", note="other box"), line("changed", note="other box")),
        (said(status="5", quantity=many("40")), line("changed", quantity=40.0, changes=("quantity",))),
        (
            said(status="3", quantity=many("40"), backorder=many("20")),
            line("changed", quantity=40.0, backorder=20.0, changes=("quantity", "backorder")),
        ),
        (
            said(quantity=MEASURE_BOX),
            line("changed", quantity=3.0, unit="XBX", price=None, currency=None, changes=("quantity", "unit", "price")),
        ),
        (
            said(quantity=MEASURE_BOX, price=Price(amount=Decimal("92.00"), currency="GBP")),
            line("changed", quantity=3.0, unit="XBX", price=Decimal("92.00"), changes=("quantity", "unit", "price")),
        ),
        (
            said(price=Price(amount=Decimal("4.60"), currency="EUR")),
            line("changed", currency="EUR", changes=("price",)),
        ),
        (
            said(price=Price(amount=Decimal("4.61"), currency="GBP")),
            line("changed", price=Decimal("4.61"), changes=("price",)),
        ),
        (
            said(item=Item(part_number="171-1")),
            line("changed", item="pf-171", price=None, currency=None, changes=("item", "price")),
        ),
        (
            said(item=Item(part_number="171-1"), price=Price(amount=Decimal("4.60"), currency="GBP")),
            line("changed", item="pf-171", changes=("item",)),
        ),
        (
            said(status="5", delivery=Delivery(earliest=date(2026, 12, 1), latest=date(2026, 12, 9))),
            line("accepted", promised_on=date(2026, 12, 9)),
        ),
        (
            said(status="5", delivery=Delivery(latest=date(2026, 12, 10))),
            line("changed", promised_on=date(2026, 12, 10), changes=("promised_on",)),
        ),
    ],
)
def test_lines_are_what_they_say_and_not_what_they_are_called(told: ResponseLine, made: Said) -> None:
    """Other goods, numbers, prices and later days are changes, whatever the status; each change is named."""
    found = answered(response("CA", told))
    assert (found.lines, found.unanswered, found.outcome) == ((made,), ("20",), "changed")


def test_the_whole_follows_from_the_lines() -> None:
    """All accepted is accepted and all refused refused; anything else is a change, also of an accepted order."""
    tube = said(id="2", answers=answers("20"))
    assert answered(response(None, said(), tube)).outcome == "accepted"
    refused = (said(status="7"), replace(tube, status="7"))
    assert answered(response(None, *refused)).outcome == "rejected"
    assert answered(response(None, said(), refused[1])).outcome == "changed"
    assert answered(response(None, said())).outcome == "changed"
    assert answered(response("AP", said(quantity=many("59")))).outcome == "changed"
    assert answered(response("AB", said(), tube)).unanswered == ("10", "20")


def test_a_divided_line_stands_as_often() -> None:
    """Forty now and twenty later are two lines of one of the order."""
    late = said(id="2", quantity=many("20"), delivery=Delivery(latest=date(2027, 1, 9)))
    found = answered(response("CA", said(quantity=many("40")), late)).lines
    assert [(one.line, one.quantity, one.promised_on) for one in found] == [
        ("10", 40.0, None),
        ("10", 20.0, date(2027, 1, 9)),
    ]


@pytest.mark.parametrize(
    ("told", "pointer", "detail"),
    [
        (response("AP", order="PO-9"), "/order", "is not PO/2026/0071, which it is held against"),
        (response("CA", said(answers=None)), "/lines/0/answers", "is needed: the line of the order that it speaks of"),
        (
            response("CA", said(), said(id="2", answers=answers("30"))),
            "/lines/1/answers/line",
            f"30 is no line of {ORDER}",
        ),
        (
            response("CA", said(answers=answers(order="PO-9"))),
            "/lines/0/answers/order",
            "is not PO/2026/0071, which the response is to",
        ),
        (
            response("CA", said(status="Disputed")),
            "/lines/0/status",
            "is no status that is read here: send 3, 5, 7 or 42 (UN/EDIFACT 1229), or none",
        ),
        (
            response("RE", said(status="5")),
            "/lines/0/status",
            "5 contradicts the response to the whole order, RE",
        ),
        (
            response("AP", said(status="7")),
            "/lines/0/status",
            "7 contradicts the response to the whole order, AP",
        ),
        (
            response("CA", said(item=Item(item="pf-999"))),
            "/lines/0/item/item",
            "pf-999 is no item that is defined here",
        ),
        (
            response("AP", said(price=Price(amount=Decimal("4.60"), currency="GBP", per=MEASURE_BOX))),
            "/lines/0/price/per/unit",
            "XBX is not the C62 that the line is counted in",
        ),
        (
            response("CA", said(backorder=MEASURE_BOX)),
            "/lines/0/backorder/unit",
            "XBX is not the C62 that the line is counted in",
        ),
        (
            response("CA", said(item=Item(gtin="036000291452"))),
            "/lines/0/item/gtin",
            "no item that is defined here has it: send our reference",
        ),
    ],
)
def test_a_response_that_contradicts_itself_or_the_order_is_refused(
    told: OrderResponse, pointer: str, detail: str
) -> None:
    """Another order, line, word, unit and goods than are known here are told with their pointer."""
    with pytest.raises(BadDocument) as error:
        answered(told)
    assert [(fault.pointer, fault.detail) for fault in error.value.faults] == [(pointer, detail)]
