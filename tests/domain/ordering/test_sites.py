"""Whose acts count: those of keys that reach the site of the need."""

from typing import Any

from service.domain.ordering.naming import proposal_id
from tests.domain.ordering.books import FIRST, approved, book, cancelled, cap, placed

MONDAY, TUESDAY = "2026-03-02 09:00", "2026-03-03 09:00"
YARDS: dict[str, Any] = {"key": "yard-erp", "sites": frozenset({"yard"})}
YARD = proposal_id("yard", "pf", 0)


def test_an_order_of_a_key_that_does_not_reach_the_need_counts_for_nothing() -> None:
    """Whatever site the event names; it stands aside, to be told of."""
    found = book(placed(MONDAY, site="yard", **YARDS))
    assert (found.life(FIRST).state, found.outstanding, found.orders) == ("open", {}, {})
    assert [said.event.order for said in found.unknown] == ["PO-1"]
    own = book(placed(MONDAY, proposal=YARD, **YARDS))
    assert (own.life(YARD).state, own.unknown) == ("placed", [])


def test_nobody_calls_off_an_order_of_another_site() -> None:
    """A key of the yard does not end the dock's order; its own it does."""
    theirs = cancelled(TUESDAY, key="yard-erp", role="integrator", sites=frozenset({"yard"}))
    assert book(placed(MONDAY), theirs).life(FIRST).state == "placed"
    assert book(placed(MONDAY, proposal=YARD), theirs).life(YARD).state == "cancelled"


def test_a_cap_is_of_the_keys_own_sites() -> None:
    """A key of the yard approves nothing at the dock, however cheap."""
    assert book(cap("5000.00"), approved(MONDAY, role="integrator", **YARDS)).life(FIRST).approval is None


def test_an_order_for_a_proposal_that_nobody_knows_is_told_of() -> None:
    """It is on its way all the same."""
    found = book(placed(MONDAY, "PO-7", proposal="pr-0071", site="yard"))
    assert [said.event.order for said in found.unknown] == ["PO-7"]
