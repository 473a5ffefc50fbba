"""How far a forecast missed: the errors it made over stretches as long as the one that is asked about.

Errors over a stretch are measured as such, not scaled up from those of single periods: a rate that is too low is too
low in each period of the stretch, so that errors add up. Source: Saoud, Kourentzes and Boylan (2022), "Approximations
for the lead time variance: a forecasting and inventory evaluation", Omega 110, 102614.
"""

from collections.abc import Sequence
from itertools import accumulate

DOZEN = 12
"""How many errors a variance is taken from at least, if there are as many, and how many periods a forecast is given to
settle before it is held against anything; our own choice."""


def squared_error(series: Sequence[float], rates: Sequence[float], periods: float) -> float:
    """Give the mean squared error of a forecast of the sum over so many periods (> 0); zero where none can be told.

    `rates[n]` is the forecast after `series[n]`. Where the history is too short for a dozen errors over the stretch,
    first the time to settle is given up, then those of a shorter stretch are scaled up in proportion.
    """
    used = next((place for place, rate in enumerate(rates) if rate > 0), len(series))
    known = len(series) - 1 - used
    if known < 1:
        return 0.0
    whole = max(1, min(round(periods), known - DOZEN + 1))
    first = max(used, min(DOZEN, len(series) - whole - DOZEN))
    sums = list(accumulate(series, initial=0.0))
    errors = [sums[at + 1 + whole] - sums[at + 1] - whole * rates[at] for at in range(first, len(series) - whole)]
    return sum(error * error for error in errors) / len(errors) * periods / whole
