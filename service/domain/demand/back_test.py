"""Back-testing: what a method would have said in the past, held against what was then used.

The origin rolls: at each period, of the last 208, only what was known by then is used. What is told, and
why:

- `pinball`, the quantile loss of the stock that the forecast would have set for a service level, over the stretch it is
  to last for. It is least in the mean for the true quantile (Gneiting 2011, International Journal of Forecasting 27,
  197-207), so it asks just what the forecast is for; methods are compared by it.
- `covered`, the share of stretches for which that stock lasted: to be held against the level.
- `bias`, the mean of forecast less use in a period: above zero it over-orders.
- `mase`, the mean absolute error one period ahead, divided by that of saying "as in the last period" (Hyndman and
  Koehler 2006, International Journal of Forecasting 22, 679-688). It is told since readers know it, and does not
  divide by zero as percentages do; nothing is chosen by it, because where most periods are without use absolute errors
  are least for a forecast of nothing at all (Teunter and Duncan 2009, Journal of the Operational Research Society 60,
  321-329). Volumes and pages are cited from memory.
"""

from collections.abc import Sequence
from itertools import pairwise
from statistics import fmean
from typing import Final

import msgspec

from service.domain.demand.forecast import Forecast
from service.domain.demand.rates import METHODS, Method
from service.domain.demand.spread import DOZEN

MOST_ORIGINS: Final = 208
"""From how many origins at most, the newest: four years of weeks."""


class Score(msgspec.Struct, frozen=True):
    """How a method did from so many origins, over stretches of so many periods, for a service level.

    `pinball` and `bias` are in the item's unit (over the stretch; a period). `mase` is None where use never changed.
    """

    method: Method
    origins: int
    periods: int
    level: float
    pinball: float
    covered: float
    bias: float
    mase: float | None

    @property
    def enough(self) -> bool:
        """Say whether it stands on enough origins to be gone by."""
        return self.origins >= DOZEN


def back_test(series: tuple[float, ...], method: Method, periods: int, level: float) -> Score | None:
    """Hold a method against the past; None where the series is too short for a single origin."""
    origins = range(max(DOZEN, len(series) - periods + 1 - MOST_ORIGINS), len(series) - periods + 1)
    if not origins:
        return None
    rates = METHODS[method](series)
    known = (Forecast(method, series[:at], rates[:at], 1) for at in origins)
    stocks = [seen.over(periods).quantile(level) for seen in known]
    used = [sum(series[at : at + periods]) for at in origins]
    ahead = [rates[at - 1] - series[at] for at in origins]
    return Score(
        method=method,
        origins=len(origins),
        periods=periods,
        level=level,
        pinball=fmean(pinball(stock, use, level) for stock, use in zip(stocks, used, strict=True)),
        covered=sum(use <= stock for stock, use in zip(stocks, used, strict=True)) / len(origins),
        bias=fmean(ahead),
        mase=_scaled(ahead, series),
    )


def pinball(said: float, came: float, level: float) -> float:
    """Give the loss of a quantile: what was short weighs `level`, what was left `1 - level`."""
    return level * (came - said) if came > said else (1 - level) * (said - came)


def _scaled(errors: Sequence[float], series: Sequence[float]) -> float | None:
    naive = fmean(abs(later - earlier) for earlier, later in pairwise(series))
    return fmean(map(abs, errors)) / naive if naive else None
