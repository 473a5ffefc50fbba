"""Use that spreads widely, against scipy."""

from math import sqrt
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import gamma, nbinom, poisson

from service.domain.demand.counts import MOST_NUMBERS, Counts, _chances
from service.domain.demand.gamma import beyond
from service.domain.demand.widely import Widely

MEANS = st.floats(-3, 7).map(lambda power: float(10**power))
EXTRA = st.one_of(st.just(0.0), st.floats(-4, 6).map(lambda power: float(10**power)))


def reference(mean: float, extra: float) -> tuple[Any, Any]:
    """Give scipy's distribution, and that of each number weighed by itself, less one: n f(n) = mean g(n - 1)."""
    if not extra:
        return poisson(mean), poisson(mean)
    return nbinom(mean / extra, 1 / (1 + extra)), nbinom(mean / extra + 1, 1 / (1 + extra))


@settings(deadline=None, max_examples=300)
@given(mean=MEANS, extra=EXTRA, level=st.floats(0.01, 0.9999))
def test_chances_and_quantiles_are_near_those_of_scipy(mean: float, extra: float, level: float) -> None:
    """A hundredth at most, wherever the numbers are not gone through one by one."""
    use = Counts(mean, mean * (1 + extra))
    if use.widely is None:
        assert len(_chances(use.mean, use.variance)[1]) <= MOST_NUMBERS
        return
    known, _ = reference(mean, extra)
    found = use.quantile(level)
    assert known.cdf(found) >= level - 0.01
    assert known.cdf(found - 1) <= level + 0.01
    assert use.at_most(found) == pytest.approx(known.cdf(found), abs=0.01)


@settings(deadline=None, max_examples=300)
@given(mean=MEANS, extra=EXTRA, far=st.floats(-3, 5))
def test_shortages_are_near_those_of_scipy(mean: float, extra: float, far: float) -> None:
    """A thousandth of the standard deviation at most."""
    use = Counts(mean, mean * (1 + extra))
    deviation = sqrt(use.variance)
    stock = max(1, int(mean + far * deviation))
    known, weighed = reference(mean, extra)
    expected = mean * weighed.sf(stock - 1) - stock * known.sf(stock)
    if use.widely is not None:
        assert use.short(stock) == pytest.approx(expected, abs=deviation / 1000)


@pytest.mark.parametrize(
    ("use", "level", "quantity"),
    [
        (Counts(1_000_000, 1_000_000), 0.95, 1_001_645),
        (Counts(6, 60_000), 0.999, 1190),
        (Counts(6, 60_000), 0.99, 0),
        (Counts(5000, 500_000), 0.95, 6217),
    ],
)
def test_quantiles(use: Counts, level: float, quantity: int) -> None:
    """As scipy has them, to one piece."""
    assert use.widely is not None
    assert use.quantile(level) == pytest.approx(quantity, abs=1)


@pytest.mark.parametrize(("mean", "extra"), [(1e6, 0.0), (1e7, 1.0)])
@pytest.mark.parametrize("far", [-2, -0.5, 0, 0.5, 2])
def test_where_the_skew_is_slight_it_is_told(mean: float, extra: float, far: float) -> None:
    """The first term of the series of Edgeworth leaves an error of the order of the skew's square, below 1e-6."""
    use, (known, weighed) = Widely(mean, mean * (1 + extra)), reference(mean, extra)
    number = int(mean + far * sqrt(use.variance))
    assert use.at_most(number) == pytest.approx(known.cdf(number), abs=1e-7)
    short = mean * weighed.sf(number - 1) - number * known.sf(number)
    assert use.short(number) == pytest.approx(short, abs=1e-3)


def test_no_chance_lies_below_nothing() -> None:
    """Four deviations below the mean the series falls beneath it."""
    assert Widely(103, 103).at_most(62) == 0


@pytest.mark.parametrize(("mean", "variance", "skew"), [(100, 300, 0.2886751346), (6, 60_000, 81.6455756099)])
def test_the_gamma_distribution_has_the_moments_asked_for(mean: float, variance: float, skew: float) -> None:
    """Shape times scale, moved; shape times the scale's square; two by the root of the shape.

    The skews are those of the negative binomial by scipy.
    """
    shape, scale, moved = Widely(mean, variance)._gamma
    assert shape * scale + moved == pytest.approx(mean)
    assert shape * scale**2 == pytest.approx(variance)
    assert 2 / sqrt(shape) == pytest.approx(skew)


def test_of_nothing_all_is_short() -> None:
    """A debt is short besides, and nothing is used with a chance of its own."""
    assert (Widely(500, 5e6).short(0), Widely(500, 5e6).short(-2)) == (500, 502)
    assert Widely(500, 5e6).at_most(-0.5) == 0
    assert Widely(6, 6e6).at_most(0) > 0.9


@settings(deadline=None, max_examples=200)
@given(shape=st.floats(1e-6, 400), number=st.floats(-1, 2000))
def test_the_gamma_distribution_is_that_of_scipy(shape: float, number: float) -> None:
    """To ten digits."""
    assert beyond(shape, number) == pytest.approx(gamma(shape).sf(number), abs=1e-10)
