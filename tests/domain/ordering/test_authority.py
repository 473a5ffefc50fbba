"""Whose approval counts."""

from decimal import Decimal
from typing import Any

import pytest

from service.domain.ordering.costs import Cost
from tests.domain.ordering.books import approved, book, cap, defined, life, line, placed
from tests.oracle.posting import Posted

MONDAY = "2026-03-02 09:00"
ERP: dict[str, Any] = {"key": "erp", "role": "integrator"}


@pytest.mark.parametrize(
    ("posted", "counts"),
    [
        ([approved(MONDAY)], True),
        ([approved(MONDAY, key="office", role="administrator")], True),
        ([approved(MONDAY, sites=frozenset({"dock"}))], True),
        ([approved(MONDAY, sites=frozenset({"yard"}))], False),
        ([approved(MONDAY, **ERP)], False),
        ([cap("1104.00"), approved(MONDAY, **ERP)], True),
        ([cap("1103.99"), approved(MONDAY, **ERP)], False),
        ([cap("1104.00", currency="EUR"), approved(MONDAY, **ERP)], False),
        ([cap("1104.00"), approved(MONDAY, None, **ERP)], False),
        ([cap("1104.00"), defined(None, "2026-01-01 09:00"), approved(MONDAY, **ERP)], False),
        ([cap("9.00"), cap("1104.00", site="dock"), approved(MONDAY, **ERP)], True),
        ([cap("1104.00"), approved(MONDAY, proposal="pr-0071", **ERP)], False),
    ],
)
def test_who_approves(posted: list[Posted], counts: bool) -> None:
    """A manager of the site does; anybody else up to the cap: sixty at 18.40 pounds are 1,104.00, to the penny."""
    proposal = posted[-1].message["proposal"]
    found = life(*posted, proposal=proposal)
    assert (found.approval is not None, len(found.idle)) == (counts, not counts)


def test_a_cap_that_came_or_went_between_its_moment_and_its_receipt_approves_nothing() -> None:
    """Nobody reaches a higher cap by saying that it was last year, nor a coming one."""
    raised = cap("2000.00", "2026-03-05 09:00")
    early = approved(MONDAY, received="2026-03-06 09:00", **ERP)
    late = approved("2026-03-06 10:00", **ERP)
    assert life(raised, early).approval is None
    assert life(raised, late).approval is not None
    lowered = (cap("2000.00"), cap("10.00", "2026-03-05 09:00"))
    assert life(*lowered, early).approval is None


def test_it_is_told_that_the_cap_stood_for_a_manager() -> None:
    """Whether the event says so or not; a manager's own approval is one whatever it costs."""
    within = life(cap("2000.00"), approved(MONDAY, **ERP)).approval
    by_door = life(cap("2000.00"), approved(MONDAY, within_cap=True, **ERP)).approval
    managers = life(cap("2000.00"), approved(MONDAY)).approval
    placing = life(cap("2000.00"), approved(MONDAY, within_cap=True)).approval
    told = (within, by_door, placing, managers)
    assert [one is not None and one.within_cap for one in told] == [True, True, True, False]


def test_an_approval_keeps_the_price_and_the_site_of_its_need() -> None:
    """18.40 pounds each at the dock, though the price is another later; of what nobody knows no price is known."""
    dearer = defined("20.00", "2026-03-05 09:00")
    known = life(dearer, approved(MONDAY)).approval
    assert known is not None
    assert (known.price, known.site, known.item) == (Cost(Decimal("18.40"), "GBP"), "dock", "pf")
    unknown = life(approved(MONDAY, proposal="pr-0071", site="yard"), proposal="pr-0071").approval
    assert unknown is not None
    assert (unknown.price, unknown.site, unknown.item) == (None, "yard", None)


@pytest.mark.parametrize("before", [[approved(MONDAY, 60.0)], [cap("5000.00")]])
def test_neither_an_approval_nor_a_cap_is_of_another_item(before: list[Posted]) -> None:
    """Sixty filters are no sixty batteries."""
    found = book(*before, placed("2026-03-03 09:00"), placed("2026-03-03 09:00", "PO-2", line(60.0, item="bat")))
    assert [order.order for order in found.unapproved] == ["PO-2"]


def test_what_counts_for_nothing_is_not_on_order() -> None:
    """The need stays open, and nothing is expected."""
    found = book(approved(MONDAY, **ERP))
    assert (found.open_need("dock", "pf").n, found.outstanding) == (0, {})
    assert book(approved(MONDAY)).outstanding == {("dock", "pf"): 60.0}
