import pytest

from service.domain.demand.counts import Counts
from service.domain.demand.levels import Levels, fill_rate, levels

POISSON = Counts(6, 6)


@pytest.mark.parametrize(
    ("use", "between", "level", "found"),
    [
        (POISSON, 8, 0.95, Levels(10, 18)),  # the printed reorder points, see test_counts
        (Counts(6, 12), 8, 0.95, Levels(12, 20)),
        (POISSON, 7.2, 0.95, Levels(10, 18)),  # what is used between orders is rounded up
        (POISSON, 3.0000000000000004, 0.95, Levels(10, 13)),  # but not for the sake of a rounding error
        (POISSON, 0.0, 0.99, Levels(12, 13)),  # one at least
        (Counts(0.5), 0.4, 0.95, Levels(2, 3)),  # 0.9856 by any table, where 1 has 0.9098
        (Counts(0.0), 8, 0.95, Levels(0, 0)),
    ],
)
def test_levels(use: Counts, between: float, level: float, found: Levels) -> None:
    """The reorder point lasts at the level, and is topped up by what is used between orders."""
    assert levels(use, between, level) == found


def test_fill_rate() -> None:
    """What is short in a cycle, of what is asked for in it; the losses stand in test_counts, and 6 is that at none."""
    assert fill_rate(POISSON, 8, 100) == pytest.approx(1 - 0.3140213891541884 / 100, abs=1e-12)
    assert fill_rate(POISSON, 0, 8) == pytest.approx(1 - (6 - 0.3140213891541884) / 8, abs=1e-12)
    # with single pieces it is the chance that one more is there
    assert fill_rate(POISSON, 8, 1) == pytest.approx(POISSON.at_most(8), abs=1e-12)
