"""What to order of one item for one site, with every number that it follows from."""

from collections.abc import Iterable
from datetime import date, timedelta
from math import ceil

import msgspec

from service.domain.demand.counts import Counts, Family
from service.domain.demand.lead_time import LeadTime
from service.domain.demand.levels import fill_rate, levels
from service.domain.demand.outlook import Outlook
from service.domain.demand.quantity import Limit, ordered
from service.domain.demand.shelf_life import Lot, Usable, expiring, usable


class Stock(msgspec.Struct, frozen=True):
    """What is there by lot, what is on its way, and what is asked for and not yet given.

    `recalled` is there besides and not to be used.
    """

    lots: tuple[Lot, ...] = ()
    on_order: float = 0.0
    owed: float = 0.0
    recalled: float = 0.0


class Terms(msgspec.Struct, frozen=True):
    """How the firm orders: the service level, the days between two looks at the stock, and those between two orders."""

    level: float
    look_days: float = 7
    order_days: float = 28


class Sold(msgspec.Struct, frozen=True):
    """How an item is sold: its pack, the least that is delivered, and the days it may be kept from its receipt on."""

    pack: float | None = None
    minimum: float | None = None
    shelf_days: int | None = None


class Reorder(msgspec.Struct, frozen=True):
    """What to order, and the arithmetic: `quantity` follows from what stands before it. Quantities are in the unit.

    protected_days = lead_days + look_days; use_mean and use_variance are over those days, of the family named.
    use_mean = unforeseen + the larger of foretold and changes + recalls, the means of what `expected` is made of.
    use_between is the mean over order_days more, and order_up_to = reorder_point + that, rounded up, or one.
    position = in_stock - expiring + on_order - owed. wanted = order_up_to - position where position <= reorder_point,
    else nothing. usable is how much more can be used before it expires, None where it does not: of usable_mean, the use
    in usable_days, what position leaves.
    """

    lead_days: float
    lead_variance: float
    look_days: float
    protected_days: float
    unforeseen: float
    foretold: float
    changes: int
    recalls: int
    use_mean: float
    use_variance: float
    family: Family
    level: float
    reorder_point: int
    order_days: float
    use_between: float
    order_up_to: int
    fill_rate: float
    in_stock: float
    recalled: float
    expiring: float
    on_order: float
    owed: float
    position: float
    wanted: float
    pack: float | None
    minimum: float | None
    rounded: float
    usable_days: float | None
    usable_mean: float | None
    usable: Usable | None
    limits: tuple[Limit, ...]
    quantity: float


def reorder(outlook: Outlook, lead: LeadTime, stock: Stock, sold: Sold, terms: Terms) -> Reorder:
    """Say how much to order today; a quantity of zero is nothing to order."""
    protected_days = lead.days + terms.look_days
    expected = outlook.expected(protected_days, lead.variance)
    use = expected.use
    between = outlook.over(protected_days + terms.order_days).mean - use.mean
    least = max(1.0, sold.pack or 0.0, sold.minimum or 0.0)
    set_at = levels(use, between, terms.level)
    lost = _expiring(stock.lots, use, protected_days, outlook.today)
    in_stock = sum(lot.quantity for lot in stock.lots)
    position = in_stock - lost + stock.on_order - stock.owed
    wanted = set_at.order_up_to - position if position <= set_at.reorder_point else 0.0
    in_time = None if sold.shelf_days is None else outlook.over(lead.days + sold.shelf_days)
    more = None if in_time is None else usable(in_time, position, terms.level)
    order = ordered(wanted, sold.pack, sold.minimum, more)
    return Reorder(
        lead_days=lead.days,
        lead_variance=lead.variance,
        look_days=terms.look_days,
        protected_days=protected_days,
        unforeseen=expected.unforeseen.mean,
        foretold=expected.foretold.mean,
        changes=expected.changes,
        recalls=expected.recalled,
        use_mean=use.mean,
        use_variance=use.taken,
        family=use.family,
        level=terms.level,
        reorder_point=set_at.reorder_point,
        order_days=terms.order_days,
        use_between=between,
        order_up_to=set_at.order_up_to,
        fill_rate=fill_rate(use, set_at.reorder_point, max(least, set_at.order_up_to - set_at.reorder_point)),
        in_stock=in_stock,
        recalled=stock.recalled,
        expiring=lost,
        on_order=stock.on_order,
        owed=stock.owed,
        position=position,
        wanted=order.wanted,
        pack=sold.pack,
        minimum=sold.minimum,
        rounded=order.rounded,
        usable_days=None if sold.shelf_days is None else lead.days + sold.shelf_days,
        usable_mean=None if in_time is None else in_time.mean,
        usable=more,
        limits=order.limits,
        quantity=order.quantity,
    )


def _expiring(lots: Iterable[Lot], use: Counts, days: float, today: date) -> float:
    per_day = use.mean / days if days else 0.0
    return expiring(lots, per_day, today, today + timedelta(days=ceil(days)))
