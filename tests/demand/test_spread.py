import pytest

from service.domain.demand.spread import squared_error

THREES = (3.0,) * 40


def alternating(length: int, *first: float) -> tuple[float, ...]:
    """Give use of 2 and 4 in turn, after some other."""
    return (*first, *(2.0 if place % 2 else 4.0 for place in range(length - len(first))))


def test_errors_are_those_over_the_stretch() -> None:
    """2 and 4 in turn are missed by one in each period, and by nothing over two."""
    assert squared_error(alternating(40), THREES, 1) == 1
    assert squared_error(alternating(40), THREES, 2) == 0
    assert squared_error(alternating(40), THREES, 3) == 1


def test_a_rate_that_is_too_low_is_so_in_each_period() -> None:
    """Missed by one in each of four periods is missed by four."""
    assert squared_error((4.0,) * 40, THREES, 4) == 16


def test_parts_of_periods_are_in_proportion() -> None:
    """Two and a third are told from two, a half from one."""
    assert squared_error((4.0,) * 40, THREES, 7 / 3) == pytest.approx(4 * 7 / 6)
    assert squared_error((4.0,) * 40, THREES, 0.5) == 0.5


def test_a_forecast_has_a_dozen_periods_to_settle() -> None:
    """What it missed before does not count if enough is left."""
    assert squared_error(alternating(40, *[50.0] * 12), THREES, 1) == 1
    assert squared_error(alternating(40, *[50.0] * 13), THREES, 1) == 1  # the thirteenth is told after the twelfth
    assert squared_error(alternating(40, *[50.0] * 14), THREES, 1) > 1


def test_with_little_history_all_of_it_counts() -> None:
    """Time to settle is given up first, then the length of the stretch."""
    assert squared_error((50.0, 50.0, 4.0, 4.0, 4.0), THREES[:5], 1) == (47 * 47 + 1 + 1 + 1) / 4
    assert squared_error((4.0,) * 14, THREES[:14], 4) == 4 * 4 / 2  # thirteen errors: two periods leave a dozen
    assert squared_error((4.0,) * 5, THREES[:5], 4) == 4


def test_origins_begin_with_the_first_forecast() -> None:
    """Before something was used there was none to hold against anything."""
    assert squared_error((0.0, 0.0, 4.0, 4.0, 4.0), (0.0, 0.0, 3.0, 3.0, 3.0), 1) == 1


@pytest.mark.parametrize("series", [(), (0.0, 0.0), (4.0,), (0.0, 4.0)])
def test_without_anything_that_followed_no_error_is_known(series: tuple[float, ...]) -> None:
    """None can be told before a period has followed a forecast."""
    assert squared_error(series, series, 2) == 0
