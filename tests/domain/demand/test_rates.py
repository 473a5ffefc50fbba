"""Forecasts of intermittent use against published values."""

import pytest

from service.domain.demand.rates import METHODS, Method, croston, sba, tsb
from tests.domain.demand.published import SCRIPTS

SHORT = (0.0, 0.0, 5.0, 0.0, 0.0, 0.0, 4.0, 0.0, 6.0, 0.0, 0.0, 3.0)


@pytest.mark.parametrize(
    ("method", "rate"),
    [
        ("croston", 0.8688921),  # R's forecast::croston, published in sktime's test_croston.py
        ("sba", 0.8254475),  # CrostonSBA of statsforecast 2.1.1
    ],
)
def test_the_published_series(method: Method, rate: float) -> None:
    """The last forecast is the published one to all its digits."""
    assert METHODS[method](SCRIPTS)[-1] == pytest.approx(rate, abs=5e-8)


@pytest.mark.parametrize(("smoothing", "rate"), [(0.05, 1.405808), (0.5, 0.6754646)])
def test_the_published_series_smoothed_otherwise(smoothing: float, rate: float) -> None:
    """R's forecast::croston with other smoothings, published in the same place."""
    assert croston(SCRIPTS, smoothing)[-1] == pytest.approx(rate, abs=5e-7)


@pytest.mark.parametrize(
    ("method", "rate"),
    [("croston", 1.6078234704), ("sba", 1.5274322969), ("tsb", 1.3017532542)],  # as statsforecast 2.1.1 has them
)
def test_a_short_series(method: Method, rate: float) -> None:
    """Forecasts of three reference implementations."""
    assert METHODS[method](SHORT)[-1] == pytest.approx(rate, abs=5e-11)


def test_croston_smooths_where_something_is_used() -> None:
    """5 after 3 periods, then 4 after 4: 4.9 in 3.1 periods."""
    assert croston(SHORT[:8]) == pytest.approx((0, 0, 5 / 3, 5 / 3, 5 / 3, 5 / 3, 4.9 / 3.1, 4.9 / 3.1))


def test_croston_takes_the_smoothing_it_is_given() -> None:
    """By a half: 4.5 in 3.5 periods."""
    assert croston(SHORT[:7], 0.5)[-1] == pytest.approx(4.5 / 3.5)
    assert sba(SHORT[:7], 0.5)[-1] == pytest.approx(4.5 / 3.5 * 0.75)


def test_tsb_smooths_the_chance_in_every_period() -> None:
    """It begins with use in the first period or without, and fades where nothing is used."""
    assert tsb((4.0, 0.0, 2.0)) == pytest.approx((4.0, 3.6, 3.8 * 0.91))
    assert tsb((0.0, 4.0, 0.0)) == pytest.approx((0.0, 0.4, 0.36))
    assert tsb((4.0, 0.0, 2.0), 0.5, 0.2) == pytest.approx((4.0, 3.2, 3.0 * 0.84))


def test_tsb_sees_that_use_has_ended() -> None:
    """After 38 months without use Croston's forecast is what it was, that of TSB all but gone."""
    assert croston(SCRIPTS)[-1] == croston(SCRIPTS)[-39]
    assert tsb(SCRIPTS)[-1] == pytest.approx(tsb(SCRIPTS)[-39] * 0.9**38)


@pytest.mark.parametrize("method", METHODS)
def test_without_use_nothing_is_forecast(method: Method) -> None:
    """Zeros for zeros, nothing for nothing."""
    assert METHODS[method]((0.0, 0.0)) == (0.0, 0.0)
    assert METHODS[method](()) == ()


@pytest.mark.parametrize(("method", "rate"), [("croston", 3.0), ("sba", 2.85), ("tsb", 3.0)])
def test_steady_use_is_forecast_as_it_is(method: Method, rate: float) -> None:
    """But for the correction of a bias that steady use does not have."""
    assert METHODS[method]((3.0,) * 20) == pytest.approx((rate,) * 20)
