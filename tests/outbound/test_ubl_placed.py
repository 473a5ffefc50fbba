"""Orders that are on record, as what documents are made of and held against."""

from datetime import UTC, date, datetime
from typing import Any

import pytest

from service.domain.kinds.order_placed import OrderLine
from service.domain.ordering.approval import Approval
from service.domain.ordering.life import Life
from service.domain.ordering.lines import Line
from service.domain.ordering.naming import Need
from service.domain.ordering.order import Deed, Order
from service.outbound.ubl.events.parties import buyer_of, place_of, printed
from service.outbound.ubl.events.placed import approved_of, placed_of
from service.outbound.ubl.parts import Party
from tests.outbound.ubl_trade import GOODS, ID

DEED = Deed("p-1", datetime(2026, 3, 2, 12, tzinfo=UTC), ID, 7)
NEED = Need("harrow-dock", "pf-170", 0)


def part(*lines: Line, **told: Any) -> Order:
    """Give a part of an order."""
    said: dict[str, Any] = {"order": "PO-1", "proposal": "pr-1", "site": "harrow-dock", "supplier": None}
    said |= {"expected_on": None, "placed": DEED, "placed_on": date(2026, 3, 2)}
    return Order(**said | told, lines=lines)


def line(name: str | None = "10", **told: Any) -> Line:
    """Give a line of filters."""
    said: dict[str, Any] = {"site": "harrow-dock", "item": "pf-170", "unit": "C62", "ordered": 4.0}
    return Line(line=name, **said | told)


def test_an_order_has_the_lines_of_all_its_parts() -> None:
    """What is said of the order as a whole is that of its first part; a price stays with its currency."""
    first = part(line(price="18.40", currency="GBP"), supplier="sup-4", expected_on=date(2026, 3, 16))
    told = placed_of([first, part(line("20", item="pf-171"), proposal="pr-2")], GOODS)
    assert (told.id, told.by, told.occurred_at, told.site) == (ID, "p-1", DEED.at, "harrow-dock")
    assert (told.order, told.proposal, told.supplier, told.expected_on) == ("PO-1", "pr-1", "sup-4", date(2026, 3, 16))
    assert [(one.line, one.item, str(one.price), one.currency) for one in told.lines] == [
        ("10", "pf-170", "18.40", "GBP"),
        ("20", "pf-171", "None", None),
    ]


def test_a_line_that_was_not_said_is_of_the_item_in_its_unit() -> None:
    """An order without lines is for as much as was approved."""
    (told,) = placed_of([part(line(None, unit=None, item="tube"))], GOODS).lines
    assert told == OrderLine(line="1", item="tube", quantity=4.0, unit="MTR")


@pytest.mark.parametrize(
    "lines",
    [
        (line(ordered=None),),
        (line(), line("20", ordered=None)),
        (line(unit=None, item="pf-999"),),
        (line(), line(item="pf-171")),
    ],
)
def test_an_order_of_which_something_is_not_told_has_no_lines(lines: tuple[Line, ...]) -> None:
    """Neither where nobody said how much, or knows in what, nor where two lines have one name."""
    assert placed_of([part(*lines)], GOODS).lines == ()


def test_what_is_approved_is_an_order_under_the_proposals_name() -> None:
    """Of as much as was approved, in the item's unit; without a quantity it is none."""
    life = Life(proposal="pr-1", need=NEED, approval=Approval(DEED, date(2026, 3, 2), 4.0, within_cap=False))
    told = approved_of(life, NEED, GOODS)
    assert told is not None
    assert (told.order, told.proposal, told.site, told.supplier) == ("pr-1", "pr-1", "harrow-dock", None)
    assert told.lines == (OrderLine(line="1", item="pf-170", quantity=4.0, unit="C62"),)
    unsaid = Life(proposal="pr-1", need=NEED, approval=Approval(DEED, date(2026, 3, 2), None, within_cap=False))
    assert (approved_of(unsaid, NEED, GOODS), approved_of(Life(proposal="pr-1", need=NEED), NEED, GOODS)) == (
        None,
        None,
    )


def test_of_a_site_that_is_not_defined_nothing_is_said() -> None:
    """Neither who buys nor where."""
    assert (buyer_of(None), place_of(None)) == (Party(), None)


@pytest.mark.parametrize(
    ("address", "lines"),
    [("1 Dock  Road\r\n\tHarrow", ("1 Dock Road", "Harrow")), ("a\n\n \nb", ("a", "b")), ("a\u2028b", ("a", "b"))],
)
def test_an_address_is_printed_in_lines_that_say_something(address: str, lines: tuple[str, ...]) -> None:
    """Blanks are one, and lines end where anybody's do."""
    assert printed(address) == lines
