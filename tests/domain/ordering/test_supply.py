"""What is on its way, and where nobody knows how much."""

from datetime import UTC, datetime

from tests.domain.ordering.books import FIRST, approved, book, line, placed, received
from tests.oracle.posting import say

MONDAY, FRIDAY = "2026-03-02 09:00", "2026-03-06 09:00"
BARE = say("order-placed", MONDAY, proposal="pr-0071", order="PO-7", lines=[line()])


def test_what_is_known_is_told() -> None:
    """Sixty that were approved, or ordered, or of which some have come; nothing is untold."""
    for posted in ([approved(MONDAY)], [placed(MONDAY)], [placed(MONDAY), received(FRIDAY, 59)]):
        assert book(*posted).untold == frozenset()


def test_an_approval_without_a_quantity_is_of_nobody_knows_how_many() -> None:
    """Of a proposal that nobody knows it is of nothing."""
    found = book(approved(MONDAY, None))
    assert (found.outstanding, found.untold) == ({("dock", "pf"): 0.0}, frozenset({("dock", "pf")}))
    unknown = book(approved(MONDAY, None, proposal="pr-0071"), as_at=datetime(2026, 3, 3, tzinfo=UTC))
    assert (unknown.outstanding, unknown.untold) == ({}, frozenset())


def test_what_goes_nobody_knows_where_is_on_its_way_to_nobody() -> None:
    """An order of no site for a proposal that nobody knows; the same of boxes."""
    assert (book(BARE).outstanding, book(BARE).untold) == ({}, frozenset())
    boxes = say("order-placed", MONDAY, proposal="pr-0071", order="PO-7", lines=[line(unit="BX")])
    assert book(boxes).untold == frozenset()


def test_boxes_that_have_come_are_no_riddle() -> None:
    """While the last of three is to come nobody knows how many filters are; then the sixty beside it are all."""
    both = placed(MONDAY, "PO-1", line(60.0), line(3.0, "20", unit="BX"))
    assert book(both, received(FRIDAY, 2, line="20", unit="BX")).untold == {("dock", "pf")}
    came = book(both, received(FRIDAY, 3, line="20", unit="BX"))
    assert (came.outstanding, came.untold) == ({("dock", "pf"): 60.0}, frozenset())


def test_what_has_ended_is_no_riddle() -> None:
    """Nobody said how many were ordered, and three came: that was it."""
    bare = say("order-placed", MONDAY, proposal=FIRST, order="PO-1")
    assert book(bare).untold == {("dock", "pf")}
    assert book(bare, received(FRIDAY, 3)).untold == frozenset()
