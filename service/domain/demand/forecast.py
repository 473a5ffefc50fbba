"""A forecast from use: how much will be used over any number of days, and how sure that is."""

import msgspec

from service.domain.demand.counts import Counts
from service.domain.demand.lead_time import of_uncertain_length
from service.domain.demand.rates import METHODS, Method
from service.domain.demand.series import WEEK
from service.domain.demand.spread import dispersion


class Forecast(msgspec.Struct, frozen=True):
    """A method that has seen a series of periods of so many days; `rates` are its forecasts after each of them."""

    method: Method
    series: tuple[float, ...]
    rates: tuple[float, ...]
    days: int = WEEK

    @property
    def rate(self) -> float:
        """Give the mean use in a period from now on."""
        return self.rates[-1] if self.rates else 0.0

    @property
    def per_day(self) -> float:
        """Give the mean use in a day from now on."""
        return self.rate / self.days

    def over(self, days: float, variance: float = 0.0) -> Counts:
        """Give the use over so many days (mean and variance, days squared)."""
        if days <= 0:
            return Counts(0.0)
        periods = days / self.days
        mean = self.rate * periods
        use = Counts(mean, mean * dispersion(self.series, self.rates, periods))
        return of_uncertain_length(use, self.per_day, variance)


def forecast(series: tuple[float, ...], method: Method, days: int = WEEK) -> Forecast:
    """Forecast by a method from a series of periods of so many days."""
    return Forecast(method, series, METHODS[method](series), days)
