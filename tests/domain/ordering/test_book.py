"""What follows from orders: what is on its way, how long it takes, what contradicts itself."""

from service.domain.ordering.leads import Lead
from service.domain.ordering.naming import proposal_id
from tests.domain.ordering.books import FIRST, SECOND, approved, book, cancelled, line, placed, received

MONDAY = "2026-03-02 09:00"
YARD = proposal_id("yard", "pf", 0)


def test_what_is_on_order_is_what_was_ordered_and_has_not_come() -> None:
    """By site and item; what is approved and not yet ordered counts, what was called off does not."""
    found = book(
        placed(MONDAY, "PO-1"),
        received("2026-03-05 09:00", 45),
        placed(MONDAY, "PO-2", line(20.0), proposal=YARD),
        approved(MONDAY, 8.0, proposal=SECOND),
        placed(MONDAY, "PO-3", line(5.0, item="bat"), proposal=proposal_id("dock", "bat", 0)),
        cancelled("2026-03-04 09:00", "PO-3"),
    )
    assert found.outstanding == {("dock", "pf"): 23.0, ("yard", "pf"): 20.0}


def test_one_number_may_stand_for_orders_of_several_needs() -> None:
    """Each keeps its lines; what comes goes where it came."""
    found = book(
        placed(MONDAY, "PO-1", line(10.0)),
        placed(MONDAY, "PO-1", line(20.0, "20"), proposal=YARD),
        received("2026-03-05 09:00", 10),
    )
    assert (found.life(FIRST).state, found.life(YARD).state) == ("closed", "placed")
    assert found.outstanding == {("yard", "pf"): 20.0}


def test_of_an_order_for_several_needs_one_may_be_called_off() -> None:
    """Without a proposal all of it is."""
    both = (placed(MONDAY, "PO-1", line(10.0)), placed(MONDAY, "PO-1", line(20.0, "20"), proposal=YARD))
    one = book(*both, cancelled("2026-03-04 09:00", proposal=YARD))
    assert [one.life(name).state for name in (FIRST, YARD)] == ["placed", "cancelled"]
    every = book(*both, cancelled("2026-03-04 09:00"))
    assert [every.life(name).state for name in (FIRST, YARD)] == ["cancelled", "cancelled"]


def test_a_lead_time_is_the_mean_day_of_what_came() -> None:
    """Forty after three days and twenty after nine are five days; an order that goes on tells nothing yet."""
    found = book(
        placed(MONDAY, supplier="sup-4"),
        received("2026-03-05 09:00", 40),
        received("2026-03-11 09:00", 20),
        placed(MONDAY, "PO-2", line(20.0), proposal=SECOND),
        received("2026-03-05 09:00", 5, "PO-2"),
    )
    assert found.leads == [Lead("pf", "sup-4", "dock", 5.0)]


def test_a_day_without_a_time_is_that_day() -> None:
    """Good news of a day counts at its end; the days between are those of the calendar all the same."""
    assert book(placed("2026-03-02"), received("2026-03-09", 60)).leads == [Lead("pf", None, "dock", 7.0)]


def test_an_order_cut_short_took_as_long_as_what_came_of_it() -> None:
    """Nothing more of it is waited for. What came before it was placed says nothing."""
    short = book(placed(MONDAY), received("2026-03-05 09:00", 40), cancelled("2026-03-20 09:00"))
    assert short.leads == [Lead("pf", None, "dock", 3.0)]
    assert book(placed(MONDAY), received("2026-02-27 09:00", 60)).leads == []


def test_receipts_for_an_order_that_nobody_placed_are_found() -> None:
    """Until it is placed, if it ever is."""
    stray = received("2026-03-05 09:00", 40, "PO-9")
    assert [said.event.quantity for said in book(stray, received("2026-03-05 09:00", 1, None)).strays] == [40]
    assert book(stray, placed("2026-03-06 09:00", "PO-9")).strays == []


def test_a_proposal_of_no_pair_is_known_by_what_was_said_of_it() -> None:
    """Its need is not known; its order is on its way to the site that the event names."""
    found = book(placed(MONDAY, "PO-7", proposal="pr-0071", site="yard"))
    assert (found.life("pr-0071").need, found.life("pr-0071").state) == (None, "placed")
    assert found.outstanding == {("yard", "pf"): 60.0}
