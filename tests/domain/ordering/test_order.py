"""How far an order is, and the days and acts that it is made of."""

from datetime import UTC, date, datetime

import pytest

from service.domain.ordering.lines import Line
from service.domain.ordering.order import state_of
from tests.domain.ordering.books import FIRST, approved, book, cancelled, life, line, placed, received
from tests.oracle.posting import Posted, say

MONDAY, TUESDAY, FRIDAY = "2026-03-02 09:00", "2026-03-03 09:00", "2026-03-06 09:00"


def told(ordered: float | None, came: float) -> Line:
    """Give a line of which so much has come."""
    return Line(line="10", site="dock", item="pf", unit="C62", ordered=ordered, received=came)


@pytest.mark.parametrize(
    ("lines", "state", "called_off"),
    [
        ([told(10, 0), told(10, 0)], "placed", "cancelled"),
        ([told(10, 1), told(10, 0)], "part-received", "short"),
        ([told(10, 10), told(10, 0)], "part-received", "short"),
        ([told(10, 0.5)], "part-received", "short"),
        ([told(10, 9.5)], "part-received", "short"),
        ([told(10, 10), told(10, 11)], "closed", "closed"),
        ([told(None, 0)], "placed", "cancelled"),
        ([told(None, 0.5)], "closed", "closed"),
    ],
)
def test_it_follows_from_quantities(lines: list[Line], state: str, called_off: str) -> None:
    """Something of any line has come, and nothing of any line is still to come."""
    assert state_of(lines, cancelled=False) == state
    assert state_of(lines, cancelled=True) == called_off


def test_what_is_still_to_come_is_told_line_by_line() -> None:
    """Half a piece is; nothing of a line that has come, nor of an order that was called off."""
    posted: list[Posted] = [placed(MONDAY, "PO-1", line(10.0), line(10.0, "20")), received(FRIDAY, 9.5, line="10")]
    posted.append(received(FRIDAY, 10, line="20"))
    (order,) = life(*posted).orders
    assert [(one.line, one.outstanding) for one in order.outstanding] == [("10", 0.5)]
    (order,) = life(*posted, cancelled(FRIDAY)).orders
    assert order.outstanding == ()


def test_a_moment_itself_counts() -> None:
    """As of nine what was approved at nine is."""
    assert life(approved(MONDAY), as_at=datetime(2026, 3, 2, 9, tzinfo=UTC)).state == "approved"


def test_the_counter_of_a_device_tells_which_of_one_instant_was_last() -> None:
    """Two approvals of one moment, the earlier received last: the other counts."""
    later = approved(MONDAY, 60.0, device="kiosk-1", device_seq=2)
    found = life(later, approved(MONDAY, 90.0, device="kiosk-1", device_seq=1)).approval
    assert found is not None
    assert found.quantity == 60.0


def test_the_day_is_that_of_the_site() -> None:
    """Half past eleven in the evening UTC is the next day at a dock in London's summer; a day without a time is it."""
    (late,) = life(placed("2026-06-01 23:30")).orders
    (dated,) = life(placed("2026-06-01")).orders
    assert (late.placed_on, dated.placed_on) == (date(2026, 6, 2), date(2026, 6, 1))


def test_an_order_of_a_proposal_is_called_off_though_another_is_placed_later() -> None:
    """The first stays called off; only its own number placed again would be another order."""
    first, second = life(placed(MONDAY), cancelled(TUESDAY), placed(FRIDAY, "PO-2")).orders
    assert (first.state, second.state) == ("cancelled", "placed")


def test_placed_and_called_off_in_one_moment_it_is_called_off() -> None:
    """So what is placed after it is an order again, from then on."""
    (order,) = life(placed(MONDAY), cancelled(MONDAY), placed(FRIDAY)).orders
    assert (order.state, order.placed_on) == ("placed", date(2026, 3, 6))


def test_an_order_for_nobody_knows_what_has_no_lines() -> None:
    """It names a proposal that nobody knows, and no lines."""
    (order,) = life(say("order-placed", MONDAY, proposal="pr-0071", order="PO-7"), proposal="pr-0071").orders
    assert order.lines == ()


def test_the_next_need_is_the_first_that_nobody_acted_on() -> None:
    """After the first the second, of that site and item alone."""
    found = book(approved(MONDAY))
    assert [found.open_need(*pair).n for pair in (("dock", "pf"), ("yard", "pf"))] == [1, 0]
    assert [one.proposal for one in found.of_pair("dock", "pf")] == [FIRST]
    assert found.of_pair("yard", "pf") == []
