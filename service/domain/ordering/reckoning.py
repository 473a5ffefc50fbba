"""Reckoning: the arithmetic of one need, from what a site has, used, expects and has on its way.

The two streams of use are forecast each by a method of its own, over the weeks that the stock is to last for.
"""

from collections.abc import Callable, Sequence
from datetime import date
from typing import Final, Literal, NamedTuple

import msgspec

from service.domain.demand.changes import Change
from service.domain.demand.choosing import Choice, choose
from service.domain.demand.lead_time import FEW, LeadTime, lead_time
from service.domain.demand.outlook import Outlook
from service.domain.demand.quantity import Ordered, ordered
from service.domain.demand.reorder import Reorder, Sold, Stock, Terms, reorder
from service.domain.demand.series import WEEK
from service.domain.demand.shelf_life import Usable
from service.domain.kinds.item_defined import ItemDefined

Choosing = Callable[[tuple[float, ...], int, float], Choice]
"""Chooses a method by a history, the weeks that the stock is to last for, and the service level."""
LeadFrom = Literal["observed", "observed-and-stated", "stated", "observed-elsewhere", "assumed"]
ASSUMED_DAYS: Final = 14.0
"""The lead time of what was never ordered and of which nobody said one; our own choice."""
ORDER_DAYS: Final = 28.0
"""Days between one order and the next; our own choice."""
MONTH: Final = 365.25 / 12
"""Days of a month in the mean."""


class Situation(msgspec.Struct, frozen=True, kw_only=True):
    """What is known of an item at a site. Use is by week, the oldest first.

    `leads` are those of the site's own orders, `leads_elsewhere` those of other sites', in days.
    """

    today: date
    item: ItemDefined
    level: float
    stock: Stock
    unforeseen: tuple[float, ...] = ()
    foretold: tuple[float, ...] = ()
    changes: tuple[Change, ...] = ()
    leads: tuple[float, ...] = ()
    leads_elsewhere: tuple[float, ...] = ()


class Reckoned(msgspec.Struct, frozen=True):
    """What follows from a situation: the arithmetic, where its lead time is from, and the choices of method."""

    situation: Situation
    reorder: Reorder
    lead_from: LeadFrom
    unforeseen: Choice
    foretold: Choice

    def used_by(self, day: date) -> float:
        """Give how much more than what expires here by then is used up to a day, that day included, in the mean."""
        found, here = self.reorder, self.situation
        per_day = found.use_mean / found.protected_days
        before = sum(lot.quantity for lot in here.stock.lots if lot.expires is not None and lot.expires <= day)
        return per_day * max(0, (day - here.today).days + 1) - before

    def bought(self, moved: float) -> Ordered:
        """Give what is to be bought once so much comes from elsewhere: nothing where that lifts it above the point."""
        found, sold = self.reorder, sold_as(self.situation.item)
        if not moved:
            return Ordered(found.wanted, found.rounded, found.quantity, found.limits)
        usable = found.usable
        if usable is not None:
            less = round(moved)
            usable = Usable(max(0, usable.expected - less), max(0, usable.at_best - less))
        enough = found.position + moved > found.reorder_point
        return ordered(0.0 if enough else found.wanted - moved, sold.pack, sold.minimum, usable)


class Lead(NamedTuple):
    """A lead time and where it is from."""

    time: LeadTime
    said: LeadFrom


def reckon(situation: Situation, chosen: Choosing = choose) -> Reckoned:
    """Reckon what is to be ordered; `chosen` may know choices that were made before."""
    lead = lead_of(situation.leads, situation.item, situation.leads_elsewhere)
    terms = Terms(situation.level, order_days=ORDER_DAYS)
    periods = max(1, round((lead.time.days + terms.look_days) / WEEK))
    unforeseen = chosen(situation.unforeseen, periods, situation.level)
    foretold = chosen(situation.foretold, periods, situation.level)
    outlook = Outlook(situation.today, unforeseen.forecast, foretold.forecast, situation.changes)
    found = reorder(outlook, lead.time, situation.stock, sold_as(situation.item), terms)
    return Reckoned(situation, found, lead.said, unforeseen, foretold)


def lead_of(observed: Sequence[float], item: ItemDefined, elsewhere: Sequence[float] = ()) -> Lead:
    """Give the lead time by orders of the site that came, by what is said of the item, or by our own assumption.

    A supplier may be near another site: its orders count, beside the few of this one, where nothing is said of the
    item, and so never shorten what is said.
    """
    stated = item.lead_time_days
    pooled = elsewhere if stated is None and len(observed) < FEW else ()
    found = lead_time([*observed, *pooled], stated)
    if found is None:
        return Lead(LeadTime(ASSUMED_DAYS), "assumed")
    if pooled:
        return Lead(found, "observed-elsewhere")
    if not observed:
        return Lead(found, "stated")
    return Lead(found, "observed-and-stated" if stated is not None and len(observed) < FEW else "observed")


def sold_as(item: ItemDefined) -> Sold:
    """Say how an item is sold."""
    months = item.shelf_life_months
    return Sold(item.pack_size, item.minimum_order, None if months is None else int(months * MONTH))
