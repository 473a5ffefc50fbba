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


class Outlook(msgspec.Struct, frozen=True):
    """The forecasts of two streams from use, and the changes expected of the parts in place, as on a day."""

    today: date
    unforeseen: Forecast
    foretold: Forecast
    changes: tuple[Change, ...] = ()

    def over(self, days: float, variance: float = 0.0) -> Counts:
        """Give the use over so many days (mean and variance, days squared).

        What stands in the calendar is looked for two standard deviations further, since an order may come that late.
        """
        known = foretold(self.changes, self.today, days + DEVIATIONS * sqrt(variance))
        by_use = self.foretold.over(days, variance)
        either = Counts(float(known.others)) if known.others > by_use.mean else by_use
        return self.unforeseen.over(days, variance).plus(either).plus(Counts(float(known.recalled)))
