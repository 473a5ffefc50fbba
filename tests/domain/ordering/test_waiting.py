"""What is waited for no more, what nobody can add up, and what was placed again."""

from datetime import UTC, datetime

import pytest

from service.domain.errors import ProposalState
from service.domain.ordering.book import Book
from service.domain.ordering.doing import to_place
from service.domain.ordering.order import Order
from tests.domain.ordering.books import FIRST, SECOND, approved, book, cancelled, life, line, placed, received
from tests.domain.ordering.test_doing import said
from tests.oracle.posting import Posted, say

MONDAY, TUESDAY, FRIDAY = "2026-03-02 09:00", "2026-03-03 09:00", "2026-03-06 09:00"
BY_THE_LAST = datetime(2026, 3, 16, 23, 59, tzinfo=UTC)
OVER = datetime(2026, 3, 17, 1, tzinfo=UTC)
FORTNIGHT = say("item-defined", "2026-01-01 08:00", item="pf", name="Filter", unit="C62", lead_time_days=14)


def on_its_way(at: datetime, *posted: Posted) -> Book:
    """Fold what was posted of filters that take fourteen days."""
    return book(FORTNIGHT, *posted, as_at=at)


@pytest.mark.parametrize("act", [placed(MONDAY), approved(MONDAY)])
def test_without_a_day_it_counts_for_its_lead_time(act: Posted) -> None:
    """Of the second of March through the sixteenth, and no longer."""
    assert on_its_way(BY_THE_LAST, act).outstanding == {("dock", "pf"): 60.0}
    assert on_its_way(OVER, act).outstanding == {}


def test_the_spread_of_lead_times_is_waited_for() -> None:
    """Three orders took 4, 8 and 12 days: eight in the mean, and twice four, which are sixteen."""
    known = [
        event
        for number, days in (("A", 4), ("B", 8), ("C", 12))
        for event in (
            placed("2026-01-05 09:00", number, line(1.0), proposal=f"pr-{number}", site="dock"),
            received(f"2026-01-{5 + days:02} 09:00", 1.0, number),
        )
    ]
    assert on_its_way(datetime(2026, 3, 18, 23, tzinfo=UTC), *known, placed(MONDAY)).outstanding != {}
    assert on_its_way(datetime(2026, 3, 19, 1, tzinfo=UTC), *known, placed(MONDAY)).outstanding == {}


def test_the_slowest_item_is_waited_for() -> None:
    """The filters take fourteen days, the batteries thirty; what nobody knows of our own fourteen."""
    slow = say("item-defined", "2026-01-01 08:00", item="bat", name="Battery", unit="C62", lead_time_days=30)
    waiting = on_its_way(OVER, slow).waiting
    assert [waiting.days(items) for items in (["pf"], ["bat", "pf"], ["pf", "bat"], [])] == [14, 30, 30, 14]


def test_days_are_those_of_the_site() -> None:
    """London keeps summer time: placed and approved late on the first of June, which is the second there.

    Fourteen days later the sixteenth is over an hour before midnight UTC, and it is over from that moment.
    """
    over = datetime(2026, 6, 16, 23, tzinfo=UTC)
    found = on_its_way(over, placed("2026-06-01 23:30"), approved("2026-06-01 23:30", proposal=SECOND))
    assert found.waiting.over_at(found.life(FIRST).orders[0]) == over
    assert found.waiting.stale_at(found.life(SECOND)) == over
    early = datetime(2026, 6, 16, 22, 59, tzinfo=UTC)
    found = on_its_way(early, placed("2026-06-01 23:30"), approved("2026-06-01 23:30", proposal=SECOND))
    assert found.waiting.over_at(found.life(FIRST).orders[0]) is None
    assert found.waiting.stale_at(found.life(SECOND)) is None


def test_what_nobody_approved_is_not_stale() -> None:
    """Nor is what was ordered, with or without an approval, however long it takes."""
    late = datetime(2026, 6, 30, tzinfo=UTC)
    for posted in ([placed(MONDAY)], [approved(MONDAY), placed(TUESDAY)]):
        found = on_its_way(late, *posted)
        assert [found.waiting.stale_at(found.life(name)) for name in (FIRST, SECOND)] == [None, None]


def test_a_day_that_was_said_is_the_day() -> None:
    """What is late of it is told of, and counts: somebody knows of it."""
    found = on_its_way(OVER, placed(MONDAY, expected_on="2026-03-09"))
    (order,) = found.life(FIRST).orders
    assert found.waiting.over_at(order) == datetime(2026, 3, 10, tzinfo=UTC)
    assert found.outstanding == {("dock", "pf"): 60.0}


def test_what_was_ordered_is_no_stale_approval() -> None:
    """Nor what has come is overdue."""
    early = approved("2026-01-05 09:00", proposal=SECOND)
    found = on_its_way(OVER, approved(MONDAY), placed(TUESDAY), received(FRIDAY, 60), early)
    first, second = (found.life(name) for name in (FIRST, SECOND))
    assert found.waiting.stale_at(first) is None
    assert found.waiting.over_at(first.orders[0]) is None
    assert found.waiting.stale_at(second) is not None


def test_boxes_are_not_added_to_pieces() -> None:
    """While three boxes go on nobody knows how much is on its way; each line and receipt is told of."""
    found = book(placed(MONDAY, "PO-1", line(3.0, unit="BX")), received(FRIDAY, 2.0, "PO-2", unit="BX"))
    assert found.outstanding == {}
    assert found.untold == {("dock", "pf")}
    assert found.life(FIRST).quantity is None
    assert [(one.order, one.item) for one in found.aliens] == [("PO-1", "pf"), ("PO-2", "pf")]
    assert book(placed(MONDAY, "PO-1", line(3.0, unit="each")), received(FRIDAY, 1.0)).aliens == []


def test_what_came_elsewhere_ends_no_order() -> None:
    """Sixty at the yard under the dock's number are received without an order; with the number of its line they are."""
    elsewhere = book(placed(MONDAY), received(FRIDAY, 60, site="yard"))
    assert (elsewhere.life(FIRST).state, len(elsewhere.strays)) == ("placed", 1)
    named = book(placed(MONDAY), received(FRIDAY, 60, site="yard", line="10"))
    assert (named.life(FIRST).state, named.strays) == ("closed", [])


def test_an_order_that_is_placed_later_than_it_was_called_off_goes_on() -> None:
    """As of then: its lead time begins anew, and it may be called off again."""
    again = (placed(MONDAY), cancelled(TUESDAY), placed(FRIDAY))
    (order,) = life(*again).orders
    assert (order.state, str(order.placed_on), order.cancelled) == ("placed", "2026-03-06", None)
    assert len(book(*again).spent) == 1
    assert life(*again, cancelled("2026-03-09 09:00")).state == "cancelled"
    assert life(placed(MONDAY), placed(TUESDAY), cancelled(TUESDAY)).state == "cancelled"


def test_what_was_called_off_is_not_placed_again_at_the_door() -> None:
    """Who asks is told that it was."""
    known = life(placed(MONDAY), cancelled(FRIDAY))
    order: Order = known.orders[0]
    assert order.cancelled is not None
    told = rf"Order 'PO-1' was called off by event {order.cancelled.event}\. What is still needed is proposed anew"
    with pytest.raises(ProposalState, match=told):
        to_place(known, said())
