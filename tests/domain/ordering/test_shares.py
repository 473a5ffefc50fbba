"""What of an order's receipts came for which of its parts."""

from service.domain.ordering.naming import proposal_id
from service.domain.ordering.shares import share
from tests.domain.ordering.books import FIRST, SECOND, book, line, placed, received

MONDAY, TUESDAY = "2026-03-02 09:00", "2026-03-03 09:00"
YARD = proposal_id("yard", "pf", 0)


def test_what_was_ordered_first_is_filled_first() -> None:
    """Of seventy that came for two needs of sixty, sixty are the first's; boxes fill neither, and are told of both."""
    boxes = received("2026-03-05 09:00", 2.0, unit="XBX")
    found = book(placed(TUESDAY, proposal=FIRST), placed(MONDAY, proposal=SECOND), received(TUESDAY, 70.0), boxes)
    parts = found.orders["PO-1"]
    assert [one.proposal for one in parts] == [SECOND, FIRST]
    assert [[much for _, much in share(part, parts, "dock", {"pf"})] for part in parts] == [[60.0, 2.0], [10.0, 2.0]]


def test_a_part_of_another_site_has_none_of_it() -> None:
    """Both sites' lines have one name; what came at the yard came for the yard."""
    came = received(TUESDAY, 8.0, site="yard", line="1")
    found = book(placed(MONDAY, "PO-1", line(label="1")), placed(MONDAY, "PO-1", line(label="1"), proposal=YARD), came)
    dock, yard = (found.life(name).order for name in (FIRST, YARD))
    assert dock is not None
    assert yard is not None
    assert (dock.lines[0].received, yard.lines[0].received) == (0.0, 8.0)
    assert [much for _, much in share(yard, found.orders["PO-1"], "yard", {"pf"})] == [8.0]
