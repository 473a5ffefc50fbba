"""Waiting: how long what is on its way is waited for, where nobody said a day.

An order without a day is overdue once its lead time is over and twice the spread of that (its standard deviation; our
own choice: of a bell curve some 98 in 100 have come by then). An approval that nothing was ordered of is stale as late.
From then on neither counts as on its way, since else the need behind it would never be proposed again.
"""

from collections import defaultdict
from collections.abc import Iterable
from datetime import date, datetime, timedelta
from math import ceil, sqrt
from typing import Final

from service.domain.calendar import day_end
from service.domain.demand.lead_time import lead_time
from service.domain.ordering.leads import Lead
from service.domain.ordering.life import Life
from service.domain.ordering.order import ENDED, Order
from service.domain.ordering.reckoning import ASSUMED_DAYS
from service.domain.world import World

SPREADS: Final = 2
LONGEST: Final = 3650
"""Days that are waited at most: ten years."""


class Waiting:
    """How long is waited, by the lead times there were, as of a moment."""

    def __init__(self, leads: Iterable[Lead], world: World, as_at: datetime) -> None:
        self._world = world
        self._as_at = as_at
        self._leads: defaultdict[str, list[float]] = defaultdict(list)
        for lead in leads:
            self._leads[lead.item].append(lead.days)
        self._known: dict[str, int] = {}

    def days(self, items: Iterable[str]) -> int:
        """Give for how many days items are waited for, the slowest of them."""
        wanted = set(items)
        for item in wanted - self._known.keys():
            self._known[item] = self._days(item)
        return max((self._known[item] for item in wanted), default=ceil(ASSUMED_DAYS))

    def _days(self, item: str) -> int:
        defined = self._world.rulebook.item(item, self._as_at)
        stated = None if defined is None else defined.lead_time_days
        found = lead_time(self._leads[item], stated)
        days = ASSUMED_DAYS if found is None else found.days + SPREADS * sqrt(found.variance)
        return min(ceil(days), LONGEST)

    def due_on(self, order: Order) -> date:
        """Give the last day that an order may come on."""
        if order.expected_on is not None:
            return order.expected_on
        return order.placed_on + timedelta(days=self.days(line.item for line in order.lines))

    def over_at(self, order: Order) -> datetime | None:
        """Give since when an order is overdue; None where it is not, or has ended."""
        if order.state in ENDED:
            return None
        return self._past(self.due_on(order), order.site)

    def is_lost(self, order: Order) -> bool:
        """Say whether an order of no day is overdue, so that it counts as on its way no more."""
        return order.expected_on is None and self.over_at(order) is not None

    def stale_at(self, life: Life) -> datetime | None:
        """Give since when an approval without an order is stale; None where it is not."""
        approval = life.approval
        if approval is None or life.orders:
            return None
        waited = timedelta(days=self.days(() if life.need is None else (life.need.item,)))
        return self._past(approval.on + waited, approval.site)

    def _past(self, day: date, site: str | None) -> datetime | None:
        over = day_end(day, self._world.zone_on(site or "", day))
        return over if over <= self._as_at else None
