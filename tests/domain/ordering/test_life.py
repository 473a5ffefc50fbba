"""The life of a proposal, from its approval to the last delivery."""

from datetime import UTC, datetime

import pytest

from tests.domain.ordering.books import (
    FIRST,
    SECOND,
    THIRD,
    approved,
    book,
    cancelled,
    life,
    line,
    placed,
    received,
    voided,
)
from tests.oracle.posting import Posted, say

MONDAY, TUESDAY, FRIDAY = "2026-03-02 09:00", "2026-03-03 09:00", "2026-03-06 09:00"
ORDERED = (approved(MONDAY), placed(TUESDAY))


@pytest.mark.parametrize(
    ("posted", "state"),
    [
        ((), "open"),
        ((approved(MONDAY),), "approved"),
        (ORDERED, "placed"),
        ((*ORDERED, received(FRIDAY, 40)), "part-received"),
        ((*ORDERED, received(FRIDAY, 40), received(FRIDAY, 20)), "closed"),
        ((*ORDERED, received(FRIDAY, 80)), "closed"),
        ((*ORDERED, cancelled(FRIDAY)), "cancelled"),
        ((*ORDERED, received(FRIDAY, 40), cancelled(FRIDAY)), "short"),
        ((*ORDERED, received(FRIDAY, 60), cancelled(FRIDAY)), "closed"),
        ((*ORDERED, cancelled(TUESDAY), received(FRIDAY, 60)), "closed"),
        ((placed(TUESDAY),), "placed"),
        ((received(MONDAY, 60), placed(TUESDAY)), "closed"),
    ],
)
def test_states(posted: tuple[Posted, ...], state: str) -> None:
    """How far it is follows from what was ordered, what has come, and whether it was called off."""
    assert life(*posted).state == state


def test_the_order_of_arrival_is_of_no_account() -> None:
    """Told backwards, from the receipt to the approval, the life is the same but for places in the log."""
    posted = [*ORDERED, received(FRIDAY, 40, line="10"), received(FRIDAY, 5), cancelled("2026-03-09 09:00")]
    forth, back = book(*posted), book(*reversed(posted))
    assert forth.life(FIRST).state == back.life(FIRST).state == "short"
    assert [one.received for one in forth.life(FIRST).orders[0].lines] == [45.0]
    assert forth.outstanding == back.outstanding == {}
    assert forth.leads == back.leads


def test_what_was_voided_never_happened() -> None:
    """A placement taken back leaves the approval; an approval taken back leaves the need open, under its first name."""
    posted = (approved(MONDAY, label="yes"), placed(TUESDAY, label="order"))
    assert life(*posted, voided(FRIDAY, "order")).state == "approved"
    undone = book(*posted, voided(FRIDAY, "order"), voided(FRIDAY, "yes"))
    assert undone.life(FIRST).state == "open"
    assert undone.open_need("dock", "pf").n == 0


def test_as_of_a_moment_nothing_later_counts() -> None:
    """On Monday evening it was approved, and not ordered."""
    assert life(*ORDERED, as_at=datetime(2026, 3, 2, 20, tzinfo=UTC)).state == "approved"


def test_once_it_is_acted_on_the_need_that_follows_is_another() -> None:
    """Its name stays its own; the next has the next number, and no need of another site or item moves."""
    found = book(*ORDERED, approved(FRIDAY, proposal=SECOND))
    assert found.open_need("dock", "pf").n == 2
    assert [one.proposal for one in found.of_pair("dock", "pf")] == [FIRST, SECOND]
    assert (found.open_need("yard", "pf").n, found.open_need("dock", "bat").n) == (0, 0)


def test_a_need_opens_again_where_its_acts_were_voided_after_a_further_one() -> None:
    """The second is still found behind its name, and the third is not begun: whoever was told it finds it, too."""
    acts = (approved(MONDAY, label="yes"), approved(TUESDAY, proposal=SECOND), voided(FRIDAY, "yes"))
    found = book(*acts, wanted=(THIRD,))
    assert found.open_need("dock", "pf").n == 0
    assert [one.proposal for one in found.of_pair("dock", "pf")] == [SECOND]
    assert found.need(THIRD) == ("dock", "pf", 2)


def test_two_orders_for_one_proposal_are_both_on_their_way() -> None:
    """It goes on while one of them does."""
    twice = book(*ORDERED, placed(FRIDAY, "PO-2"), received(FRIDAY, 60))
    assert twice.life(FIRST).placed_twice
    assert twice.life(FIRST).state == "placed"
    assert twice.outstanding == {("dock", "pf"): 60.0}
    assert not book(*ORDERED).life(FIRST).placed_twice


def test_of_two_orders_what_was_kept_says_how_it_ended() -> None:
    """One came whole: it is closed if the other was called off, short if that was while thirty of it had come."""
    twice = (*ORDERED, placed(FRIDAY, "PO-2"), received("2026-03-07 09:00", 60, "PO-2"))
    off = cancelled("2026-03-09 09:00", "PO-1")
    assert life(*twice, off).state == "closed"
    assert life(*twice, received("2026-03-08 09:00", 30), off).state == "short"
    assert life(*ORDERED, placed(FRIDAY, "PO-2"), off, cancelled("2026-03-09 09:00", "PO-2")).state == "cancelled"


def test_of_two_orders_the_one_that_goes_on_is_told() -> None:
    """The first where the second has come; where both have, the last."""
    twice = (*ORDERED, placed(FRIDAY, "PO-2"), received("2026-03-07 09:00", 60, "PO-2"))
    both = (*twice, received("2026-03-07 09:00", 60))
    told = [life(*posted).order for posted in (twice, both, (approved(MONDAY),))]
    assert [None if order is None else order.order for order in told] == ["PO-1", "PO-2", None]


def test_an_order_told_again_under_its_number_is_corrected() -> None:
    """The last lines count, and the first moment."""
    found = life(*ORDERED, placed(FRIDAY, "PO-1", line(48.0), expected_on="2026-03-20"))
    (order,) = found.orders
    assert (found.quantity, found.placed_twice, order.placed.at.day, str(order.expected_on)) == (
        48.0,
        False,
        3,
        "2026-03-20",
    )


def test_an_order_without_lines_is_as_much_as_was_approved() -> None:
    """Of the proposal's own item; where nobody said how much, whatever comes closes it."""
    bare = say("order-placed", TUESDAY, proposal=FIRST, order="PO-1")
    assert book(approved(MONDAY, 24.0), bare).outstanding == {("dock", "pf"): 24.0}
    unsaid = book(bare)
    assert unsaid.outstanding == {}
    assert unsaid.untold == {("dock", "pf")}
    assert life(bare, received(FRIDAY, 3)).state == "closed"
    assert life(bare).quantity is None


def test_what_was_called_off_is_no_part_of_the_quantity() -> None:
    """Of sixty called off and forty ordered instead forty are told; of sixty called off alone, those."""
    off = (placed("2026-03-02 09:00"), cancelled("2026-03-03 09:00"))
    assert life(*off).quantity == 60.0
    assert life(*off, placed("2026-03-04 09:00", "PO-2", line(40.0))).quantity == 40.0
