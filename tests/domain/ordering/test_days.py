"""What is said of orders by its day alone, as systems do that keep no time of day."""

from datetime import UTC, datetime

from tests.domain.ordering.books import FIRST, LATER, SECOND, approved, book, cancelled, line, placed, received
from tests.oracle.posting import say

DAY = "2026-06-08"
NOON = datetime(2026, 6, 8, 12, tzinfo=UTC)


def test_what_is_ordered_on_a_day_is_ordered_from_its_beginning() -> None:
    """At noon of the day the need is dealt with, so that nobody orders it again."""
    for said in (approved(DAY, site="dock"), placed(DAY, site="dock")):
        found = book(said, as_at=NOON)
        assert (found.life(FIRST).acted_on, found.open_need("dock", "pf").n) == (True, 1)
    assert book(placed("2026-06-09", site="dock"), as_at=NOON).life(FIRST).state == "open"


def test_what_is_called_off_on_the_day_of_its_order_is_called_off() -> None:
    """Whichever of the two has a time of day, or none."""
    for order in (placed(DAY, site="dock"), placed("2026-06-08 10:00")):
        for end in (cancelled(DAY, site="dock"), cancelled("2026-06-08 11:00")):
            assert book(order, end, as_at=NOON).life(FIRST).state == "cancelled"


def test_what_came_on_a_day_is_received_once_it_is_over() -> None:
    """As it is in stock then: until it is, it is on its way."""
    came = received(DAY, 60.0)
    assert book(placed(DAY, site="dock"), came, as_at=NOON).outstanding == {("dock", "pf"): 60.0}
    assert book(placed(DAY, site="dock"), came).life(FIRST).state == "closed"


def test_an_approval_is_of_the_day_that_it_states() -> None:
    """It is a June day at the dock, which begins in UTC the evening before."""
    by_day, by_time = (book(approved(at, site="dock")).life(FIRST).approval for at in (DAY, "2026-06-07 23:30"))
    assert by_day is not None
    assert by_time is not None
    assert [str(by_day.on), str(by_time.on)] == [DAY, DAY]


def test_what_came_on_a_day_is_on_its_way_until_then_though_the_rest_is_called_off() -> None:
    """Eight of sixty came, and no more are waited for; of what goes on it is among what is to come, or beyond it."""
    came, end = received(DAY, 8.0), cancelled("2026-06-08 11:00")
    ended, over = book(placed(DAY, site="dock"), came, end, as_at=NOON), book(placed(DAY, site="dock"), came, end)
    assert (ended.life(FIRST).state, ended.outstanding) == ("cancelled", {("dock", "pf"): 8.0})
    assert (over.life(FIRST).state, over.outstanding) == ("short", {})
    whole = received("2026-06-08 09:00", 60.0)
    told = [book(placed(DAY, site="dock"), *more, as_at=NOON).outstanding for more in ([came], [whole, came])]
    assert told == [{("dock", "pf"): 60.0}, {("dock", "pf"): 8.0}]
    more = received(DAY, 70.0)
    assert book(placed(DAY, site="dock"), more, as_at=NOON).outstanding == {("dock", "pf"): 70.0}
    boxes = received(DAY, 8.0, unit="BX")
    assert book(placed(DAY, site="dock"), boxes, end, as_at=NOON).outstanding == {}


def test_what_is_called_off_on_a_day_is_not_what_was_ordered_after_that_was_known() -> None:
    """The number is used again an hour later for what is still needed: that goes on, then and ever after."""
    end = cancelled(DAY, site="dock", received="2026-06-08 09:00")
    again = placed("2026-06-08 10:00", proposal=SECOND)
    for moment in (NOON, LATER):
        found = book(placed("2026-06-05 10:00"), end, again, as_at=moment)
        assert [found.life(name).state for name in (FIRST, SECOND)] == ["cancelled", "placed"]
        told = found.orders["PO-1"][0].cancelled
        assert told is not None
        assert told.at == datetime(2026, 6, 8, 9, tzinfo=UTC)


def test_what_a_fast_clock_tells_of_counts_from_its_receipt() -> None:
    """Ordered four minutes ahead it is on its way, and what calls it off at once ends it; so is what came so."""
    fast = placed("2026-06-08 12:04", received="2026-06-08 12:00")
    assert book(fast, as_at=NOON).life(FIRST).state == "placed"
    end = cancelled("2026-06-08 12:01")
    assert book(fast, end).life(FIRST).state == "cancelled"
    assert book(approved("2026-06-08 12:04", received="2026-06-08 12:00"), as_at=NOON).life(FIRST).state == "approved"
    early = cancelled("2026-06-08 12:05", received="2026-06-08 12:00")
    came = say(
        "stock-received",
        "2026-06-08 12:04",
        received="2026-06-08 12:00",
        site="dock",
        item="pf",
        unit="C62",
        quantity=8.0,
        order="PO-1",
    )
    found = book(placed("2026-06-08 11:00"), early, came, as_at=NOON)
    assert (found.life(FIRST).state, found.outstanding) == ("cancelled", {("dock", "pf"): 8.0})


def test_of_two_that_a_fast_clock_tells_at_once_the_later_corrects() -> None:
    """They are received together, in whatever order: the second says twelve."""
    told = [
        placed("2026-06-08 12:03", "PO-1", line(8.0), received="2026-06-08 12:00"),
        placed("2026-06-08 12:04", "PO-1", line(12.0), received="2026-06-08 12:00"),
    ]
    for posted in (told, told[::-1]):
        assert book(*posted, as_at=NOON).outstanding == {("dock", "pf"): 12.0}
