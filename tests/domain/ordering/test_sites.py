"""Whose acts count: those of keys that reach the site of the need."""

from typing import Any

from service.domain.context import world_of
from service.domain.ordering.book import book_of
from service.domain.ordering.naming import proposal_id
from tests.domain.folding import keys, recorded
from tests.domain.ordering.books import FIRST, LATER, PAIRS, approved, book, cancelled, cap, defined, placed
from tests.oracle.firm import PLAIN
from tests.oracle.posting import log

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


def test_where_no_site_is_known_every_key_reaches() -> None:
    """An order for a proposal that nobody knows, of no site, is called off, and its proposal approved, by any."""
    bare = placed(MONDAY, "PO-7", proposal="pr-0071")
    found = book(bare, cancelled(TUESDAY, "PO-7", role="integrator", **YARDS))
    assert found.life("pr-0071").state == "cancelled"
    approval = book(approved(MONDAY, proposal="pr-0071", role="manager", **YARDS)).life("pr-0071").approval
    assert approval is not None
    assert approval.site is None


def test_what_stands_aside_leaves_no_proposal_behind() -> None:
    """Nothing is said of it that counts."""
    assert book(placed(MONDAY, site="yard", **YARDS)).lives == {}


def test_a_key_that_nobody_knows_does_nothing() -> None:
    """Neither approves, nor orders for a need, nor calls off."""
    rows = recorded(log([*PLAIN, defined(), approved(MONDAY), placed(MONDAY, proposal=YARD), cancelled(TUESDAY)]))
    found = book_of(rows, (), world_of(rows, {}), LATER, PAIRS)
    assert (found.lives[FIRST].approval, found.outstanding, len(found.unknown)) == (None, {}, 1)


def test_whoever_asks_knows_the_needs_of_their_own_sites() -> None:
    """A name of another site's is to them as one that nobody has."""
    records = log([*PLAIN, defined(), approved(MONDAY), approved(MONDAY, proposal=YARD)])
    rows = recorded(records)
    found = book_of(rows, (), world_of(rows, keys(records)), LATER, PAIRS, reach={"yard"})
    assert [found.need(name) for name in (FIRST, YARD, "pr-0071")] == [None, ("yard", "pf", 0), None]
    assert [one.proposal for one in found.of_pair("dock", "pf")] == [FIRST]
