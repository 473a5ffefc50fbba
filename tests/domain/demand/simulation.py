"""Two years of one site, day by day: what a rule of ordering gives from stock, lets expire and orders.

The use of each item and the days a supplier takes are drawn once, from a seed, and are the same for every rule. The
stock is looked at each week. What cannot be given waits, and is given first when something comes. Oldest expiry first.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from math import ceil
from random import Random

from service.domain.demand.changes import Change, InPlace, Life, Pace, expected_change
from service.domain.demand.choosing import choose
from service.domain.demand.forecast import Forecast, forecast
from service.domain.demand.lead_time import LeadTime, lead_time
from service.domain.demand.outlook import Outlook
from service.domain.demand.rates import Method
from service.domain.demand.reorder import Sold, Stock, Terms, reorder
from service.domain.demand.series import WEEK
from service.domain.demand.shelf_life import Lot
from tests.domain.demand.items import FLEET, WAVE, WAVE_BEGAN, Invented

SEED = 20260302
START = date(2026, 3, 2)
HISTORY = 364
DAYS = 728
LEVEL = 0.95
STATED = 10
MONTH = 28


@dataclass(frozen=True)
class Days:
    """What is used on each day, the history first, and the days the supplier takes for each order."""

    unforeseen: Sequence[float]
    foretold: Sequence[float]
    takes: Sequence[int]


def drawn(item: Invented, seed: int) -> Days:
    """Draw the days of an item."""
    random = Random(f"{item.name} {seed}")  # noqa: S311 - a simulation, and the same each time
    span = range(-HISTORY, DAYS)
    return Days(
        [item.unforeseen(random, day) for day in span],
        [item.foretold(random, day) for day in span],
        [random.randint(5, 21) for _ in range(DAYS)],
    )


@dataclass
class Site:
    """The stock of one item at a site as it goes: lots by the day they expire, what is on its way, what waits."""

    lots: list[tuple[int, float]]
    coming: list[tuple[int, float, int]] = field(default_factory=list)
    owed: float = 0.0
    asked: float = 0.0
    given: float = 0.0
    expired: float = 0.0
    orders: int = 0
    held: float = 0.0
    lead_days: list[int] = field(default_factory=list)

    @property
    def there(self) -> float:
        """Give what is in stock."""
        return sum(quantity for _, quantity in self.lots)

    @property
    def on_order(self) -> float:
        """Give what is on its way."""
        return sum(quantity for _, quantity, _ in self.coming)

    def begin(self, day: int, shelf_days: int) -> None:
        """Take out what has expired, receive what comes, and give it to who waits."""
        self.expired += sum(quantity for last, quantity in self.lots if last < day)
        self.lots = [lot for lot in self.lots if lot[0] >= day]
        for arrives, quantity, taken in self.coming:
            if arrives == day:
                self.lots.append((day + shelf_days, quantity))
                self.lead_days.append(taken)
        self.coming = [order for order in self.coming if order[0] != day]
        self.owed -= self.take(self.owed)

    def take(self, quantity: float) -> float:
        """Take so much from the lots, or what there is; give how much."""
        left = quantity
        kept = []
        for last, there in sorted(self.lots):
            took = min(there, left)
            left -= took
            if there > took:
                kept.append((last, there - took))
        self.lots = kept
        return quantity - left

    def use(self, quantity: float) -> None:
        """Ask for so much."""
        given = self.take(quantity)
        self.asked += quantity
        self.given += given
        self.owed += quantity - given

    def order(self, day: int, quantity: float, takes: int) -> None:
        """Order so much."""
        self.orders += 1
        self.coming.append((day + takes, quantity, takes))


@dataclass(frozen=True)
class Outcome:
    """What became of an item under a rule: pieces asked for, given at once and expired; orders; mean stock."""

    item: str
    rule: str
    asked: float
    given: float
    expired: float
    orders: int
    stock: float

    @property
    def fill(self) -> float:
        """Give the share that was given at once."""
        return self.given / self.asked


Rule = Callable[[Invented, Days, Site, int], float]


def two_boxes(item: Invented, _days: Days, site: Site, _day: int) -> float:
    """Order up to four boxes whenever no more than two are there and on their way."""
    boxes = (site.there + site.on_order - site.owed) / item.pack
    return float(ceil(4 - boxes) * item.pack) if boxes <= 2 else 0.0


class Proposing:
    """The rule of this service: the method of each stream is chosen anew every four weeks."""

    def __init__(self) -> None:
        self.methods: dict[tuple[str, str], Method] = {}

    def __call__(self, item: Invented, days: Days, site: Site, day: int) -> float:
        """Order what is proposed."""
        lead = lead_time(site.lead_days, STATED)
        assert lead is not None
        outlook = Outlook(
            today=START + timedelta(days=day),
            unforeseen=self._forecast(item, "unforeseen", days, day, lead),
            foretold=self._forecast(item, "foretold", days, day, lead),
            changes=fleet(day) if item.name == "fitted together" else (),
        )
        lots = tuple(Lot(quantity, START + timedelta(days=last)) for last, quantity in site.lots)
        stock = Stock(lots, site.on_order, site.owed)
        return reorder(outlook, lead, stock, Sold(item.pack, None, item.shelf_days), Terms(LEVEL)).quantity

    def _forecast(self, item: Invented, stream: str, days: Days, day: int, lead: LeadTime) -> Forecast:
        used: Sequence[float] = getattr(days, stream)[: HISTORY + day]
        series = tuple(sum(used[week : week + WEEK]) for week in range(len(used) % WEEK, len(used), WEEK))
        key = item.name, stream
        if day % MONTH == 0:
            periods = max(1, round((lead.days + WEEK) / WEEK))
            self.methods[key] = choose(series, periods, LEVEL).forecast.method
        return forecast(series, self.methods[key])


def fleet(day: int) -> tuple[Change, ...]:
    """Foretell the changes of the parts that were fitted together."""
    fitted = START + timedelta(days=(day - 1 + WAVE_BEGAN) // WAVE * WAVE - WAVE_BEGAN)
    parts = (InPlace(f"unit-{unit}", "filter", fitted) for unit in range(FLEET))
    found = (expected_change(part, Life(days=WAVE), Pace(), START + timedelta(days=day)) for part in parts)
    return tuple(change for change in found if change is not None)


def run(item: Invented, name: str, rule: Rule, seed: int = SEED) -> Outcome:
    """Let two years pass under a rule. Both rules begin with three boxes."""
    days = drawn(item, seed)
    site = Site([(item.shelf_days, 3.0 * item.pack)])
    for day in range(DAYS):
        site.begin(day, item.shelf_days)
        if day % WEEK == 0 and (quantity := rule(item, days, site, day)) > 0:
            site.order(day, quantity, days.takes[day])
        site.use(days.unforeseen[HISTORY + day] + days.foretold[HISTORY + day])
        site.held += site.there
    return Outcome(item.name, name, site.asked, site.given, site.expired, site.orders, site.held / DAYS)
