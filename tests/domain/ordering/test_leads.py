"""How long an order took that waits for no more."""

from datetime import UTC, date, datetime
from typing import Any
from uuid import UUID

from service.domain.ordering.leads import Lead, leads_of
from service.domain.ordering.lines import Line
from service.domain.ordering.order import Arrival, Deed, Order


def came(day: int, quantity: float, item: str = "pf", site: str = "dock") -> Arrival:
    """Receive something on a day of March."""
    return Arrival(site, item, quantity, "C62", date(2026, 3, day), UUID(int=1), 1)


def took(*arrivals: Arrival, site: str | None = "dock", received: float = 60.0, **fields: Any) -> list[Lead]:
    """Order sixty filters and twenty batteries on the second of March, the batteries still to come."""
    filters = Line(line="10", site=site, item="pf", unit="C62", ordered=60.0, received=received)
    batteries = Line(line="20", site=site, item="bat", unit="C62", ordered=20.0)
    order = Order(
        order="PO-1",
        proposal="pr-1",
        site=site,
        supplier="sup-4",
        expected_on=None,
        placed=Deed("p-1", datetime(2026, 3, 2, 9, tzinfo=UTC), UUID(int=1), 1),
        placed_on=date(2026, 3, 2),
        lines=(filters, batteries),
        arrivals=arrivals,
        **fields,
    )
    return list(leads_of(order))


def test_it_is_of_the_item_that_came() -> None:
    """Batteries that came later are none of the filters, and have no lead time while more of them is to come."""
    assert took(came(5, 60), came(30, 10, "bat")) == [Lead("pf", "sup-4", "dock", 3.0)]
    assert took(came(5, 60), received=59.0) == []


def test_a_receipt_of_nothing_tells_nothing() -> None:
    """Neither before it was placed nor alone."""
    assert took(came(1, 0), came(5, 60)) == [Lead("pf", "sup-4", "dock", 3.0)]
    assert took(came(5, 0)) == []


def test_it_is_to_the_site_that_ordered() -> None:
    """What came elsewhere under the same number tells nothing, unless nothing came here."""
    assert took(came(5, 60), came(12, 60, site="yard")) == [Lead("pf", "sup-4", "dock", 3.0)]
    assert took(came(12, 60, site="yard")) == [Lead("pf", "sup-4", "dock", 10.0)]
    assert took(came(12, 60, site="yard"), site=None) == [Lead("pf", "sup-4", "yard", 10.0)]


def test_what_came_before_it_was_placed_makes_it_untold() -> None:
    """On the day itself it took no day; where any of it came before, nobody knows."""
    assert took(came(2, 60)) == [Lead("pf", "sup-4", "dock", 0.0)]
    assert took(came(1, 30), came(5, 30)) == []
