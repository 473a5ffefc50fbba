"""Lead times, and the four published cases of a reorder point."""

from math import sqrt
from statistics import NormalDist

import pytest

from service.domain.demand.counts import Counts
from service.domain.demand.lead_time import LeadTime, lead_time, of_uncertain_length


@pytest.mark.parametrize(
    ("daily", "lead", "table", "printed", "level", "exact"),
    [
        ((350, 100), (1, 0), 1.65, 366.5, 0.95, 366.4485),
        ((15, 25), (2, 0), 1.28, 39.05, 0.90, 39.0619),
        ((10, 0), (6, 9), 2.055, 121.65, 0.98, 121.6125),
        ((150, 256), (5, 1), 1.65, 1004.44, 0.95, 1003.649),
    ],
)
def test_reorder_points(
    daily: tuple[float, float], lead: tuple[float, float], table: float, printed: float, level: float, exact: float
) -> None:
    """Normal use in a certain or uncertain lead time, from a textbook set of operations management.

    As printed, with the number of deviations that a table gives, and with the exact one.
    """
    use = of_uncertain_length(Counts(daily[0] * lead[0], daily[1] * lead[0]), daily[0], lead[1])
    assert use.mean + table * sqrt(use.variance) == pytest.approx(printed, abs=0.005)
    assert use.mean + NormalDist().inv_cdf(level) * sqrt(use.variance) == pytest.approx(exact, abs=5e-4)


def test_deviation_of_the_fourth_case() -> None:
    """5 days of 150 with a deviation of 16, the days with one of 1: 154.2077."""
    assert sqrt(of_uncertain_length(Counts(750, 5 * 256), 150, 1).variance) == pytest.approx(154.2077, abs=5e-5)


@pytest.mark.parametrize(
    ("observed", "stated", "known"),
    [
        ((), None, None),
        ((), 14, LeadTime(14)),
        ((20,), None, LeadTime(20, 0.0, 1)),
        ((20,), 14, LeadTime(17, 18.0, 1)),
        ((20, 17), 14, LeadTime(17, 9.0, 2)),
        ((20, 17, 8), 14, LeadTime(15, 39.0, 3)),  # three are enough
    ],
)
def test_lead_times(observed: tuple[float, ...], stated: float | None, known: LeadTime | None) -> None:
    """Of few observed the stated one is one more; the variance is that of a sample."""
    assert lead_time(observed, stated) == known
