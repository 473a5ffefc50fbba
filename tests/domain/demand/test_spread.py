from math import isfinite

import pytest

from service.domain.demand.choosing import choose
from service.domain.demand.levels import levels
from service.domain.demand.spread import dispersion

THREES = (3.0,) * 40


def alternating(length: int, *first: float) -> tuple[float, ...]:
    """Give use of 2 and 4 in turn, after some other."""
    return (*first, *(2.0 if place % 2 else 4.0 for place in range(length - len(first))))


def test_errors_are_those_over_the_stretch() -> None:
    """2 and 4 in turn are missed by one in each period, and by nothing over two; three are told for each period."""
    assert dispersion(alternating(40), THREES, 1) == pytest.approx(1 / 3)
    assert dispersion(alternating(40), THREES, 2) == 0
    assert dispersion(alternating(40), THREES, 3) == pytest.approx(1 / 9)


def test_a_rate_that_is_too_low_is_so_in_each_period() -> None:
    """Missed by one in each of four periods is missed by four."""
    assert dispersion((4.0,) * 40, THREES, 4) == pytest.approx(16 / 12)


def test_parts_of_periods_are_told_from_whole_ones() -> None:
    """Two and a third from two, a half from one."""
    assert dispersion((4.0,) * 40, THREES, 7 / 3) == pytest.approx(4 / 6)
    assert dispersion((4.0,) * 40, THREES, 0.5) == pytest.approx(1 / 3)


def test_it_is_told_for_each_piece_that_was_forecast() -> None:
    """By the sum of what was told, so that a forecast that fades spreads less and less."""
    rates = tuple(8.0 * 0.5**place for place in range(30))
    told = sum(rates[12:29])
    assert dispersion((0.0,) * 30, rates, 1) == pytest.approx(sum(rate * rate for rate in rates[12:29]) / told)


def test_a_forecast_has_a_dozen_periods_to_settle() -> None:
    """What it missed before does not count if enough is left."""
    third = pytest.approx(1 / 3)
    assert dispersion(alternating(40, *[50.0] * 12), THREES, 1) == third
    assert dispersion(alternating(40, *[50.0] * 13), THREES, 1) == third  # the 13th is told after the 12th
    assert dispersion(alternating(40, *[50.0] * 14), THREES, 1) > 1


def test_with_little_history_all_of_it_counts() -> None:
    """Time to settle is given up first, then the length of the stretch."""
    assert dispersion((50.0, 50.0, 4.0, 4.0, 4.0), THREES[:5], 1) == pytest.approx((47 * 47 + 1 + 1 + 1) / 12)
    assert dispersion((4.0,) * 14, THREES[:14], 4) == pytest.approx(4 / 6)  # thirteen errors: two periods leave a dozen
    assert dispersion((4.0,) * 5, THREES[:5], 4) == pytest.approx(1 / 3)
    assert dispersion((4.0, 4.0), THREES[:2], 1) == pytest.approx(1 / 3)
    late = (*[4.0] * 8, 50.0, *[4.0] * 11)  # of twenty periods seven are given to settle
    assert dispersion(late, THREES[:20], 1) == pytest.approx((47 * 47 + 11) / 36)


def test_origins_begin_with_the_first_forecast() -> None:
    """Before something was used there was none to hold against anything."""
    assert dispersion((0.0, 0.0, 4.0, 4.0, 4.0), (0.0, 0.0, 3.0, 3.0, 3.0), 1) == pytest.approx(1 / 3)
    idle = (0.0,) * 10  # then fourteen periods, of which two leave a dozen
    assert dispersion((*idle, *[4.0] * 14), (*idle, *THREES[:14]), 4) == pytest.approx(4 / 6)


@pytest.mark.parametrize("series", [(), (0.0, 0.0), (4.0,), (0.0, 4.0)])
def test_without_anything_that_followed_no_error_is_known(series: tuple[float, ...]) -> None:
    """None can be told before a period has followed a forecast."""
    assert dispersion(series, series, 2) == 0


def test_nothing_told_is_nothing_missed() -> None:
    """A forecast that has faded to nothing."""
    assert dispersion((4.0, 0.0, 0.0, *[0.0] * 30), (4.0, *[0.0] * 32), 1) == 0


def test_less_than_one_in_a_period_is_a_forecast() -> None:
    """A half each time, of one and none in turn: missed by a half in each."""
    assert dispersion((0.0, 1.0) * 20, (0.5,) * 40, 1) == pytest.approx(1 / 2)


@pytest.mark.parametrize(
    "series", [(1e-300, *[0.0] * 14, 1e6), (5e-324,) * 20 + (1e6,), (1e-9, *[0.0] * 50, 1e9, *[0.0] * 10)]
)
def test_next_to_nothing_forecast_tells_no_errors(series: tuple[float, ...]) -> None:
    """A crumb long ago, then all there may be: whatever is said of it is a number, so that a level follows from it."""
    choice = choose(series, 3, 0.95)
    use = choice.forecast.over(21)
    assert isfinite(use.variance)
    assert 0 <= levels(use, use.mean, 0.999).reorder_point < 10**16
    assert dispersion((*[0.0] * 15, 1e6), (1e-300,) * 16, 3) == 0
