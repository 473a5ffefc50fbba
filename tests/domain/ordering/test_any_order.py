"""Whatever order events about orders come in, they say the same."""

from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from service.domain.ordering.naming import proposal_id
from tests.domain.ordering.books import FIRST, SECOND, approved, book, cancelled, cap, line, placed, received, voided
from tests.oracle.posting import Posted

YARD = proposal_id("yard", "pf", 0)
EVENTS = [
    cap("500.00", "2026-01-05 08:00"),
    approved("2026-03-02 09:00", 60.0, label="first"),
    approved("2026-03-02 10:00", 90.0, key="erp", role="integrator"),
    placed("2026-03-03 09:00", "PO-1"),
    placed("2026-03-04 09:00", "PO-1", line(48.0), supplier="sup-4"),
    received("2026-03-05 09:00", 20, line="10"),
    received("2026-03-09 09:00", 28),
    placed("2026-03-10 09:00", "PO-2", line(10.0), label="mistake"),
    voided("2026-03-11 09:00", "mistake"),
    approved("2026-03-12 09:00", 20.0, SECOND, key="erp", role="integrator"),
    placed("2026-03-13 09:00", "PO-3", line(20.0), proposal=SECOND),
    cancelled("2026-03-20 09:00", "PO-3"),
    placed("2026-03-13 10:00", "PO-4", line(8.0), proposal=YARD),
    received("2026-03-16 09:00", 3, "PO-4", site="yard"),
    received("2026-03-17 09:00", 1, "PO-9"),
    received("2026-03-17 09:00", 1, "PO-4"),
    cancelled("2026-03-14 09:00", "PO-4"),
    placed("2026-03-15 10:00", "PO-4", line(8.0), proposal=YARD),
]


def told(posted: list[Posted]) -> object:
    """Give all that a book says, but for ids and places in the log."""
    found = book(*posted)
    lives = [(one.proposal, one.state, one.quantity, len(one.idle), one.placed_twice) for one in found.lives.values()]
    orders = [
        (
            number,
            [[(replace(line, came=()), [much for _, much in line.came]) for line in order.lines] for order in every],
        )
        for number, every in found.orders.items()
    ]
    strays = [said.event.order for said in found.strays]
    return lives, orders, strays, found.outstanding, found.leads, found.open_need("dock", "pf")


@given(st.permutations(EVENTS))
def test_any_order_of_arrival_says_the_same(posted: list[Posted]) -> None:
    """Receipts before their order, corrections before what they correct, an approval after all."""
    assert told(posted) == told(EVENTS)


def test_what_they_say() -> None:
    """The first came as corrected, the second was called off, the yard waits for five; two receipts are of nobody's.

    The yard's was called off and placed again.
    """
    found = book(*EVENTS)
    assert [found.life(name).state for name in (FIRST, SECOND, YARD)] == ["closed", "cancelled", "part-received"]
    assert found.outstanding == {("yard", "pf"): 5.0}
    assert [lead.days for lead in found.leads] == [(20 * 2 + 28 * 6) / 48]
    assert (len(found.strays), len(found.life(FIRST).idle), found.open_need("dock", "pf").n) == (2, 1, 2)
