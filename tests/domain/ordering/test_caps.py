"""What may be ordered without a manager, and what anything costs."""

from decimal import Decimal
from typing import Any

import pytest

from service.domain.caller import KeyHolder
from service.domain.kinds.order_placed import OrderLine
from service.domain.ordering.authority import beyond_cap, cap_at, cost_of, may_approve
from service.domain.ordering.costs import Cost, costs_of, wanted
from service.domain.ordering.naming import Need
from service.domain.rulebook import Rulebook
from tests.domain.reference_data import day, item, policy

NEED = Need("dock", "filter", 0)
PRICED = item(day(1), price="18.40", currency="GBP")
CAP = policy(day(1), "order-cap", {"amount": "100.00", "currency": "GBP"})


def line(
    quantity: float, price: str | None = None, currency: str = "GBP", ref: str = "filter", unit: str = "C62"
) -> OrderLine:
    """Give a line of an order."""
    money: dict[str, Any] = {} if price is None else {"price": Decimal(price), "currency": currency}
    return OrderLine(line="10", item=ref, quantity=quantity, unit=unit, **money)


def test_so_much_of_an_item_costs_so_many_times_its_price() -> None:
    """To the penny; nobody knows what costs nothing, nor what is not defined."""
    assert cost_of(Rulebook.build([PRICED]), "filter", 2.5, day(2)) == Cost(Decimal("46.000"), "GBP")
    assert cost_of(Rulebook.build([PRICED]), "battery", 1.0, day(2)) is None
    assert cost_of(Rulebook.build([item(day(1))]), "filter", 1.0, day(2)) is None
    assert cost_of(Rulebook.build([item(day(1), currency="GBP")]), "filter", 1.0, day(2)) is None


def test_lines_cost_their_own_price_by_currency() -> None:
    """One without a price costs the one given, or nothing that anybody knows."""
    lines = [line(2, "3.50"), line(3), line(4, "0.25"), line(1, "9", "EUR")]
    pounds = Cost(Decimal("2.00"), "GBP")
    assert costs_of(wanted(lines), pounds) == (Cost(Decimal("9.00"), "EUR"), Cost(Decimal("14.00"), "GBP"))
    assert costs_of(wanted(lines), None) == (Cost(Decimal("9.00"), "EUR"), Cost(Decimal("8.00"), "GBP"))
    assert costs_of(wanted([line(3)]), None) == ()


def test_a_cap_is_an_amount_of_a_currency() -> None:
    """A currency alone is none."""
    currency = policy(day(1), "order-cap", {"currency": "GBP"})
    assert cap_at(Rulebook.build([CAP]), "dock", day(2)) == Cost(Decimal("100.00"), "GBP")
    assert [cap_at(Rulebook.build(said), "dock", day(2)) for said in ([currency], [])] == [None, None]


@pytest.mark.parametrize(
    ("lines", "because"),
    [
        ([line(5)], None),
        ([line(5, "20.00")], None),
        ([line(2), line(3, "21.06")], None),  # 36.80 and 63.18 are 99.98
        ([line(2), line(3, "21.07")], "100.01 GBP are beyond the cap of 100.00 GBP"),
        ([line(6)], "110.40 GBP are beyond the cap of 100.00 GBP"),
        ([line(6, "0.01")], "110.40 GBP are beyond the cap of 100.00 GBP"),
        ([line(5, "20.01")], "100.05 GBP are beyond the cap of 100.00 GBP"),
        ([line(5, "0.50", "EUR")], "2.50 EUR are beyond the cap of 100.00 GBP"),
        ([line(1), line(1, ref="battery")], "only 'filter' is proposed"),
    ],
)
def test_an_order_is_within_the_cap_at_either_price(lines: list[OrderLine], because: str | None) -> None:
    """At the item's own and at the order's own; of nothing but what is proposed."""
    assert beyond_cap(Rulebook.build([PRICED, CAP]), NEED, lines, day(2)) == because


def test_without_a_cap_or_a_price_nobody_can_say() -> None:
    """So a manager is asked."""
    no_cap = "no policy 'order-cap' says up to how much may be ordered without a manager"
    assert beyond_cap(Rulebook.build([PRICED]), NEED, [line(1)], day(2)) == no_cap
    no_price = "item 'filter' has no price, so that nobody can say whether it is within the cap"
    assert beyond_cap(Rulebook.build([item(day(1)), CAP]), NEED, [line(1, "1.00")], day(2)) == no_price


def test_what_boxes_cost_nobody_can_say_either() -> None:
    """Where the item is counted in pieces, whatever the order says of their price."""
    told = beyond_cap(Rulebook.build([PRICED, CAP]), NEED, [line(1), line(1, "1.00", unit="XBX")], day(2))
    assert told == "nobody can say what so many XBX of item 'filter' cost"


def test_a_manager_approves_at_the_sites_of_the_key() -> None:
    """Where no site is known, wherever it is; nobody does by a key that is not known."""
    yards = KeyHolder("manager", frozenset({"yard"}))
    assert [may_approve(yards, site) for site in ("yard", "dock", None)] == [True, False, True]
    assert [may_approve(holder, "yard") for holder in (None, KeyHolder("integrator"))] == [False, False]
