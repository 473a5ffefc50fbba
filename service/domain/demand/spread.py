"""How widely use spreads about its forecast: the errors made over stretches as long as the one that is asked about.

Errors over a stretch are measured as such, not scaled up from those of single periods: a rate that is too low is too
low in each period of the stretch, so that errors add up. Source: Saoud, Kourentzes and Boylan (2022), "Approximations
for the lead time variance: a forecasting and inventory evaluation", Omega 110, 102614.

They are told for each piece that was forecast, as an index of dispersion (variance / mean; one for Poisson). So where
use fades or grows its variance does, too: a mean of next to nothing with the variance of former days would be nonsense.
Source: quasi-likelihood with Var = dispersion * mean, McCullagh and Nelder, "Generalized linear models", 2nd edition
1989 (from memory).
"""

from collections.abc import Sequence
from itertools import accumulate
from typing import Final

DOZEN = 12
"""How many errors an index is taken from at least, if there are as many, and how many periods a forecast is given to
settle before it is held against anything; our own choice."""
LEAST: Final = 1e-6
"""Pieces that must have been forecast in all, lest errors are divided by next to nothing; our own choice."""


def dispersion(series: Sequence[float], rates: Sequence[float], periods: float) -> float:
    """Give the index: squared errors of forecasts of the sum over so many periods, by what was forecast; 0 if unknown.

    `rates[n]` is the forecast after `series[n]`. Where the history is too short for a dozen errors over the stretch,
    first the time to settle is given up, then a shorter stretch is taken.
    """
    used = next((place for place, rate in enumerate(rates) if rate > 0), len(series))
    known = len(series) - 1 - used
    if known < 1:
        return 0.0
    whole = max(1, min(round(periods), known - DOZEN + 1))
    first = max(used, min(DOZEN, len(series) - whole - DOZEN))
    sums = list(accumulate(series, initial=0.0))
    origins = range(first, len(series) - whole)
    told = sum(whole * rates[at] for at in origins)
    missed = sum((sums[at + 1 + whole] - sums[at + 1] - whole * rates[at]) ** 2 for at in origins)
    return missed / told if told >= LEAST else 0.0
