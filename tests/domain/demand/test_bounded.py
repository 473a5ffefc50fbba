"""To choose a method takes no longer where much is used, or something was mistyped: numbers worked out are counted."""

import pytest

from service.domain.demand.choosing import choose
from service.domain.demand.series import WEEK
from tests.domain.demand.counting import Counted, Steps

MOST = 4_000_000
"""Multiplications and divisions: some 0.1 s for a million of them."""
WEEKS = 104


@pytest.mark.parametrize(("periods", "level"), [(3, 0.9999), (60, 0.5)])
@pytest.mark.parametrize(
    "series",
    [
        (2.0,) * 52 + (500.0,) + (2.0,) * 51,
        (0.0,) * 86 + (2.0,) * 9 + (10_000.0,) + (2.0,) * 8,
        (0.0,) * 50 + (1_000_000.0,) + (0.0,) * 53,
        (1_000_000.0,) * WEEKS,
        (1_000_000.0, 0.0) * (WEEKS // 2),
        (1e-3, 1_000_000.0, 40.0, 7.0) * (WEEKS // 4),
        tuple(5000.0 + 3 * nth % 17 * 10 for nth in range(WEEKS)),
        (12_000_000.0, 11_000_000.0) * (WEEKS // 2),
    ],
)
def test_no_history_takes_long(series: tuple[float, ...], periods: int, level: float) -> None:
    """For two years of weeks with any quantities that events may tell of, at any level, over any stretch."""
    steps = Steps(MOST)
    choice = choose(tuple(Counted(used, steps) for used in series), periods, level, WEEK)
    assert steps.taken > WEEKS
    assert choice.forecast.over(21).quantile(level) >= 0


def test_of_a_long_history_the_newest_origins_are_held_against_a_method() -> None:
    """Of four hundred weeks two hundred and eight origins."""
    assert [score.origins for score in choose((3.0, 1.0) * 200, 2, 0.95).scores] == [208, 208, 208]
