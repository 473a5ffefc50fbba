"""Poisson and negative binomial against printed tables and scipy."""

import re
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.stats import nbinom, poisson

from service.domain.demand.counts import Counts, Family

POISSON = Counts(6, 6)
BINOMIAL = Counts(6, 12)
MEANS = st.floats(0.001, 1000)
EXTRA = st.one_of(st.just(0.0), st.floats(1e-3, 15))
LEVELS = st.floats(0.001, 0.999)


def reference(mean: float, extra: float) -> Any:
    """Give scipy's distribution with a mean and a variance of mean * (1 + extra)."""
    return nbinom(mean / extra, 1 / (1 + extra)) if extra else poisson(mean)


@pytest.mark.parametrize(
    ("use", "quantity", "chance"),
    [
        (POISSON, 5, 0.4457),
        (POISSON, 6, 0.6063),
        (POISSON, 7, 0.7440),
        (POISSON, 8, 0.8472),
        (BINOMIAL, 5, 0.5000),
        (BINOMIAL, 6, 0.6128),
        (BINOMIAL, 7, 0.7095),
        (BINOMIAL, 8, 0.7880),
        (BINOMIAL, 9, 0.8491),
        (BINOMIAL, 10, 0.8949),
        (BINOMIAL, 11, 0.9283),
        (BINOMIAL, 12, 0.9519),
        (BINOMIAL, 13, 0.9682),
        (BINOMIAL, 14, 0.9793),
        (BINOMIAL, 15, 0.9867),
        (BINOMIAL, 16, 0.9915),
    ],
)
def test_tables(use: Counts, quantity: int, chance: float) -> None:
    """Cumulative chances for a mean of 6, and a variance of 6 and 12 (r = 6, p = 0.5), as tables print them."""
    assert use.at_most(quantity) == pytest.approx(chance, abs=5e-5)
    assert use.at_most(quantity + 0.9) == use.at_most(quantity)


@pytest.mark.parametrize(("use", "level", "quantity"), [(POISSON, 0.95, 10), (BINOMIAL, 0.95, 12), (BINOMIAL, 0.5, 5)])
def test_quantiles(use: Counts, level: float, quantity: int) -> None:
    """The reorder points that the tables give; a level that is met exactly is met."""
    assert use.quantile(level) == quantity


@pytest.mark.parametrize(("use", "short"), [(POISSON, 0.3140213891541884), (BINOMIAL, 0.67578125)])
def test_losses(use: Counts, short: float) -> None:
    """E[(D - 8)+], the first summed to forty digits and the second exact in binary; what is left by balance."""
    assert use.short(8) == pytest.approx(short, abs=1e-14)
    assert use.left(8) == pytest.approx(short + 2, abs=1e-14)


def test_without_a_stock_all_is_short() -> None:
    """Of nothing nothing is left; a debt is short besides."""
    assert POISSON.short(0) == pytest.approx(6)
    assert POISSON.short(-2) == pytest.approx(8)
    assert POISSON.at_most(-1) == POISSON.at_most(-0.5) == 0
    assert BINOMIAL.left(0) == pytest.approx(0)


def test_between_two_numbers_the_loss_is_a_straight_line() -> None:
    """Halfway between 8 and 9 it is their mean."""
    assert POISSON.short(8.5) == pytest.approx((POISSON.short(8) + POISSON.short(9)) / 2)


@pytest.mark.parametrize(
    ("use", "family"),
    [
        (Counts(0.0, 4.0), "none"),
        (Counts(0.5), "poisson"),
        (Counts(3.0), "poisson"),
        (Counts(3.0, 3.0), "poisson"),
        (Counts(3.0, 3.1), "negative-binomial"),
    ],
)
def test_families(use: Counts, family: Family) -> None:
    """Poisson, or negative binomial where use varies more."""
    assert use.family == family


def test_no_use_is_certain() -> None:
    """Nothing is used, nothing short, and all is left."""
    nothing = Counts(0.0)
    assert (nothing.quantile(0.99), nothing.at_most(0), nothing.short(0), nothing.left(4)) == (0, 1, 0, 4)


def test_use_varies_by_chance_at_least() -> None:
    """A variance below the mean counts as the mean."""
    assert Counts(6, 2).at_most(8) == POISSON.at_most(8)


def test_sums_are_of_independent_use() -> None:
    """Means and variances add up."""
    assert POISSON.plus(BINOMIAL) == Counts(12, 18)


@pytest.mark.parametrize("level", [0.0, 1.0, -0.1, 1.1])
def test_no_level_is_certain(level: float) -> None:
    """No stock is enough for certain."""
    with pytest.raises(ValueError, match=rf"^a level lies between 0 and 1, both excluded: {re.escape(str(level))}$"):
        POISSON.quantile(level)


def test_a_level_close_to_certain_is_answered() -> None:
    """A chance of 1e-12 is none."""
    assert POISSON.quantile(1 - 1e-16) == 30


@pytest.mark.parametrize("extra", [1e-7, 1e-10, 1e-13, 1e-16])
def test_there_is_no_step_between_the_two(extra: float) -> None:
    """A variance that is larger by next to nothing makes a difference of next to nothing."""
    near = Counts(6, 6 * (1 + extra))
    assert near.at_most(8) == pytest.approx(POISSON.at_most(8), abs=2 * extra + 1e-14)
    assert near.short(8) == pytest.approx(POISSON.short(8), abs=2 * extra + 1e-14)


@settings(deadline=None, max_examples=150)
@given(mean=MEANS, extra=EXTRA, share=st.floats(0, 3))
def test_chances_are_those_of_scipy(mean: float, extra: float, share: float) -> None:
    """To 1e-9 where the numbers are gone through; scipy's own functions are no better."""
    quantity, counts = int(mean * share), Counts(mean, mean * (1 + extra))
    assume(counts.widely is None)
    found = counts.at_most(quantity)
    assert found == pytest.approx(reference(mean, extra).cdf(quantity), abs=1e-9)


@settings(deadline=None, max_examples=150)
@given(mean=MEANS, extra=EXTRA, level=LEVELS)
def test_quantiles_are_those_of_scipy(mean: float, extra: float, level: float) -> None:
    """The smallest number whose chance by scipy reaches the level."""
    counts, known = Counts(mean, mean * (1 + extra)), reference(mean, extra)
    assume(counts.widely is None)
    found = counts.quantile(level)
    assert known.cdf(found) >= level - 1e-9
    assert known.cdf(found - 1) < level + 1e-9


@settings(deadline=None, max_examples=100)
@given(mean=st.floats(0.001, 300), extra=EXTRA, share=st.floats(0, 3))
def test_losses_are_those_of_scipy(mean: float, extra: float, share: float) -> None:
    """E[(D - s)+] is the sum of the chances that more than each number from s on is used."""
    stock, variance = int(mean * share), mean * (1 + extra)
    assume(Counts(mean, variance).widely is None)
    reach = range(stock, stock + int(mean + 60 * (1 + extra + variance**0.5)))
    expected = reference(mean, extra).sf(list(reach)).sum()
    assert Counts(mean, variance).short(stock) == pytest.approx(expected, rel=1e-7, abs=1e-9)


@settings(deadline=None, max_examples=50)
@given(mean=MEANS, extra=EXTRA)
def test_chances_have_the_mean_and_variance_they_were_made_of(mean: float, extra: float) -> None:
    """Summed up from the chances themselves."""
    use = Counts(mean, mean * (1 + extra))
    assert use.short(0) == pytest.approx(mean, rel=1e-9)
    last = use.quantile(1 - 1e-15)
    squares = 2 * sum(use.short(stock) for stock in range(last)) if last < 500 else None
    if squares is not None:
        assert squares - use.short(0) == pytest.approx(use.variance + mean * mean, rel=1e-6)


def test_three_thousand_numbers_are_gone_through_and_no_more() -> None:
    """Twenty for each of the deviation and fifty for each of variance / mean: 20 * 147.5 + 50 * 1 are 3,000.

    However little is used in the mean.
    """
    assert Counts(21756.25, 21756.25).widely is None
    assert Counts(21756.26, 21756.26).widely is not None
    assert Counts(1.0, 100.0).widely is not None
