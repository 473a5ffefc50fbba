"""How long a supplier takes, from orders that were placed and received."""

from collections.abc import Sequence
from statistics import fmean, variance

import msgspec

from service.domain.demand.counts import Counts

FEW = 3


class LeadTime(msgspec.Struct, frozen=True):
    """The days from order to receipt: mean and variance (days squared), and from how many receipts they are known."""

    days: float
    variance: float = 0.0
    observed: int = 0


def lead_time(observed: Sequence[float], stated: float | None = None) -> LeadTime | None:
    """Give the lead time from those observed, in days; None where nothing is known.

    Of fewer than three the stated one counts as one more, so that a single late parcel is not the rule. The variance is
    that of a sample, nil for a single number.
    """
    days = [*observed, *([stated] if stated is not None and len(observed) < FEW else [])]
    if not days:
        return None
    return LeadTime(fmean(days), variance(days) if len(days) > 1 else 0.0, len(observed))


def of_uncertain_length(use: Counts, rate: float, variance: float) -> Counts:
    """Widen the use over a mean number of periods for a number that itself varies.

    `rate` is the mean use in a period, `variance` that of the number of periods: Var = E[L] s2 + rate2 Var(L), of which
    `use` has the first term. Source: the variance of a random sum, as in any textbook of stock control.
    """
    return Counts(use.mean, use.variance + rate * rate * variance)
