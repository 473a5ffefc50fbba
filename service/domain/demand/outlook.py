"""What will be used, from use and from condition together, nothing counted twice.

Every change has one reason, and by it belongs to one of three streams. *Foretold* are the reasons that a limit, a plan
or a reading announces: loading, service-limit, expiry, schedule. *Unforeseen* are damage, contamination and other;
beside changes, whatever else a site uses of its stock. *Recall* is the third.

The unforeseen are forecast from use. Recalls are not, since that one happened does not mean that another will: what an
open recall still asks for is known place by place and added as it is. For the foretold there are two estimates of one
and the same demand: the forecast from use, and the parts in place with the days on which they will be changed
(`changes`). They are never added; the larger mean over the days asked about counts. So a wave of parts that were fitted
together is seen before it comes, and parts of which no reading or limit is known still count by the use there was. It
errs by having too much rather than too little.
"""

from datetime import date
from math import sqrt
from typing import Final

import msgspec

from service.domain.demand.changes import Change
from service.domain.demand.counts import Counts
from service.domain.demand.forecast import Forecast
from service.domain.demand.foretold import foretold

FORETOLD: Final = frozenset({"loading", "service-limit", "expiry", "schedule"})
UNFORESEEN: Final = frozenset({"damage", "contamination", "other"})
DEVIATIONS: Final = 2


class Expectation(msgspec.Struct, frozen=True):
    """The use that is expected over some days, by what it is known from.

    `unforeseen` and `foretold` are the forecasts from use, `changes` how many of the parts in place are expected to be
    changed for a reason that is foretold, `recalled` how many under open recalls.
    """

    unforeseen: Counts
    foretold: Counts
    changes: int
    recalled: int

    @property
    def use(self) -> Counts:
        """Give all of it: of the two estimates of what is foretold the larger."""
        either = Counts(float(self.changes)) if self.changes > self.foretold.mean else self.foretold
        return self.unforeseen.plus(either).plus(Counts(float(self.recalled)))


class Outlook(msgspec.Struct, frozen=True):
    """The forecasts of two streams from use, and the changes expected of the parts in place, as on a day."""

    today: date
    unforeseen: Forecast
    foretold: Forecast
    changes: tuple[Change, ...] = ()

    def expected(self, days: float, variance: float = 0.0) -> Expectation:
        """Give what is expected over so many days (mean and variance, days squared).

        What stands in the calendar is looked for two standard deviations further, since an order may come that late.
        """
        known = foretold(self.changes, self.today, days + DEVIATIONS * sqrt(variance))
        by_use = self.unforeseen.over(days, variance), self.foretold.over(days, variance)
        return Expectation(*by_use, known.others, known.recalled)

    def over(self, days: float, variance: float = 0.0) -> Counts:
        """Give the use over so many days (mean and variance, days squared)."""
        return self.expected(days, variance).use
