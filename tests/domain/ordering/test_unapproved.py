"""Which orders go beyond what was approved, and what a contradicted act counts for."""

from typing import Any

import pytest
from msgspec.structs import replace

from service.domain.conflict import APPROVAL_WITHOUT_AUTHORITY, UNKNOWN_PROPOSAL, Conflict
from service.domain.context import world_of
from service.domain.ordering.book import Book, book_of
from tests.domain.folding import keys, recorded
from tests.domain.ordering.books import FIRST, LATER, PAIRS, approved, book, cancelled, cap, defined, line, placed
from tests.oracle.firm import PLAIN
from tests.oracle.posting import Posted, log, say

MONDAY, TUESDAY = "2026-03-02 09:00", "2026-03-03 09:00"
ERP: dict[str, Any] = {"key": "erp", "role": "integrator"}
BARE = say("order-placed", TUESDAY, proposal=FIRST, order="PO-1", **ERP)


@pytest.mark.parametrize(
    ("posted", "unapproved"),
    [
        ([placed(TUESDAY)], True),
        ([placed(TUESDAY, key="chief", role="manager")], False),
        ([placed(TUESDAY, proposal="pr-0071", site="yard")], True),
        ([placed(TUESDAY, proposal="pr-0071", site="yard", key="chief", role="manager")], False),
        ([cap("5000.00"), placed(TUESDAY, proposal="pr-0071", site="yard")], True),
        ([approved(MONDAY), placed(TUESDAY)], False),
        ([approved(MONDAY), placed(TUESDAY, "PO-1", line(61.0))], True),
        ([cap("1104.00"), placed(TUESDAY)], False),
        ([cap("1103.99"), placed(TUESDAY)], True),
        ([cap("5000.00"), BARE], True),
        ([placed(MONDAY), cancelled(TUESDAY)], False),
    ],
)
def test_an_order_needs_an_approval_a_manager_or_the_cap(posted: list[Posted], unapproved: bool) -> None:
    """By the cap only what says its lines, for a need that is known; what was called off needs none any more."""
    assert [order.order for order in book(*posted).unapproved] == (["PO-1"] if unapproved else [])


def test_an_order_is_within_the_cap_when_it_was_placed_and_when_that_was_told() -> None:
    """A cap that was raised meanwhile is none of its."""
    raised = cap("2000.00", "2026-03-05 09:00")
    assert [one.order for one in book(raised, placed(TUESDAY, received="2026-03-06 09:00")).unapproved] == ["PO-1"]


def answered(conflict: Conflict | None, *posted: Posted) -> Book:
    """Fold what was posted, the last of it answered with a conflict."""
    records = log([*PLAIN, defined(), cap("5000.00"), *posted])
    *rows, last = recorded(records)
    rows.append(replace(last, conflicts=() if conflict is None else (conflict,)))
    return book_of(rows, (), world_of(rows, keys(records)), LATER, PAIRS)


def test_what_was_contradicted_as_it_was_recorded_the_cap_does_not_approve() -> None:
    """Neither an approval nor an order; a conflict of any other kind is of no account, nor is one of a manager's."""
    for conflict, counts in (
        (None, True),
        (APPROVAL_WITHOUT_AUTHORITY, False),
        (UNKNOWN_PROPOSAL, False),
        (Conflict("unknown-recall"), True),
    ):
        assert (answered(conflict, approved(MONDAY, **ERP)).life(FIRST).approval is not None) is counts
        assert (answered(conflict, placed(MONDAY)).unapproved == []) is counts
        assert answered(conflict, approved(MONDAY)).life(FIRST).approval is not None
