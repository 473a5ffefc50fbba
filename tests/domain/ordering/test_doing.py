"""What may be done about a proposal as far as it is."""

from datetime import date
from uuid import UUID

import pytest
from msgspec.structs import replace

from service.domain.errors import ProposalState
from service.domain.kinds.order_placed import OrderLine, OrderPlaced
from service.domain.ordering.doing import to_approve, to_cancel, to_place
from tests.domain.ordering.books import FIRST, approved, cancelled, life, placed, received

MONDAY, TUESDAY, FRIDAY = "2026-03-02 09:00", "2026-03-03 09:00", "2026-03-06 09:00"
LINE = OrderLine(line="10", item="pf", quantity=60.0, unit="C62")


def said(order: str = "PO-1", *lines: OrderLine, supplier: str | None = None) -> OrderPlaced:
    """Say that it was ordered."""
    event = life(placed(TUESDAY)).orders[0].placed
    return OrderPlaced(
        id=UUID(int=1),
        occurred_at=event.at,
        by="p-1",
        proposal=FIRST,
        order=order,
        lines=lines,
        supplier=supplier,
    )


def test_what_is_open_is_to_be_done() -> None:
    """Approved, and ordered, with or without an approval."""
    assert to_approve(life(), 60.0) is None
    assert to_place(life(), said()) is None
    assert to_place(life(approved(MONDAY)), said()) is None


def test_what_was_done_is_told() -> None:
    """The same quantity, the same order; what is left out is as it was."""
    known = life(approved(MONDAY), placed(TUESDAY, supplier="sup-4"))
    assert known.approval is not None
    assert to_approve(known, None) == to_approve(known, 60.0) == known.approval.deed
    (order,) = known.orders
    assert to_place(known, said()) == to_place(known, said("PO-1", LINE, supplier="sup-4")) == order.placed


def test_another_number_is_another_order() -> None:
    """The first was called off, and the second is told again."""
    known = life(placed(TUESDAY), cancelled(FRIDAY), placed("2026-03-07 09:00", "PO-2"))
    assert to_place(known, said("PO-2")) == known.orders[1].placed


def test_what_contradicts_it_is_refused_with_what_to_do() -> None:
    """Another quantity, number, supplier or line; an approval of what was ordered without one."""
    known = life(approved(MONDAY), placed(TUESDAY, supplier="sup-4"))
    other = OrderLine(line="10", item="pf", quantity=61.0, unit="C62")
    late = replace(said(), expected_on=date(2026, 3, 20))
    for again in (said("PO-2"), said("PO-1", supplier="sup-5"), said("PO-1", other), late):
        with pytest.raises(ProposalState, match=r"is placed, as order 'PO-1'\. What is still needed is proposed anew"):
            to_place(known, again)
    instead = r"void event [0-9a-f-]{36} and approve it again\.$"
    with pytest.raises(ProposalState, match="It was approved for 60: to change that, " + instead):
        to_approve(life(approved(MONDAY)), 61.0)
    with pytest.raises(ProposalState, match="It was approved for its own quantity: to change that, " + instead):
        to_approve(life(approved(MONDAY, None)), 61.0)
    with pytest.raises(ProposalState, match="proposed anew"):
        to_approve(life(placed(TUESDAY)), None)


def test_the_order_that_goes_on_is_called_off() -> None:
    """One that was called off is told again; what is not there, or has come, is refused."""
    assert to_cancel(life(placed(TUESDAY)), None).order == "PO-1"
    assert to_cancel(life(placed(TUESDAY), cancelled(FRIDAY)), None).cancelled is not None
    both = (placed(TUESDAY), placed(FRIDAY, "PO-2"))
    assert to_cancel(life(*both, cancelled(FRIDAY)), None).order == "PO-2"
    assert to_cancel(life(*both), "PO-2").order == "PO-2"
    with pytest.raises(ProposalState, match=r"ordered as 'PO-1' and 'PO-2': say as 'order' which of them\.$"):
        to_cancel(life(*both), None)
    with pytest.raises(ProposalState, match=r"It was never ordered as 'PO-3'\.$"):
        to_cancel(life(*both), "PO-3")
    with pytest.raises(ProposalState, match=r"It has all come\.$"):
        to_cancel(life(placed(TUESDAY), received(FRIDAY, 60)), None)
    with pytest.raises(ProposalState, match=r"call off: to take the approval back, void event [0-9a-f-]{36}\.$"):
        to_cancel(life(approved(MONDAY)), None)
    with pytest.raises(ProposalState, match=r"There is no order to call off\.$"):
        to_cancel(life(), None)
