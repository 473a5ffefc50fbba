import pytest

from service.domain.demand.counts import Counts
from service.domain.demand.forecast import Forecast, forecast

KNOWN = Forecast("croston", (4.0,) * 40, (3.0,) * 40)


def test_use_over_days_is_that_over_weeks() -> None:
    """Three a week are six in fourteen days; each week was one more, so that two weeks were two more."""
    found = KNOWN.over(14)
    assert (found.mean, round(found.variance, 9)) == (6, 4)
    assert (KNOWN.rate, KNOWN.per_day) == (3, 3 / 7)


def test_variance_fades_with_use() -> None:
    """A hundred weeks after the last use next to nothing is forecast, and nothing is set for it."""
    faded = forecast((20.0, 0.0, 60.0) * 20 + (0.0,) * 100, "tsb").over(28)
    assert 0 < faded.mean < 0.01
    assert faded.variance < 100 * faded.mean
    assert faded.quantile(0.99) == 0


def test_days_that_vary_widen_it() -> None:
    """By the squared use of a day for each day squared."""
    assert KNOWN.over(14, 49).variance == pytest.approx(4 + 9)


def test_periods_of_other_lengths() -> None:
    """Three in a period of four weeks."""
    found = Forecast("croston", (4.0,) * 40, (3.0,) * 40, 28).over(56)
    assert (found.mean, round(found.variance, 9)) == (6, 4)


@pytest.mark.parametrize("days", [0, -3])
def test_no_days_no_use(days: float) -> None:
    """Nothing is used in no time."""
    assert KNOWN.over(days, 4) == Counts(0)


def test_of_no_history_nothing_is_forecast() -> None:
    """No rate, no use."""
    assert forecast((), "tsb").over(14) == Counts(0)


def test_a_method_is_asked_for_its_rates() -> None:
    """After each period of the series."""
    assert forecast((0.0, 4.0), "tsb").rates == pytest.approx((0, 0.4))
    assert forecast((0.0, 4.0), "croston", 28) == Forecast("croston", (0.0, 4.0), (0.0, 2.0), 28)
