"""Published optimal policies, found again with our chances and losses.

Snyder and Shen, "Fundamentals of Supply Chain Theory", as printed in the documentation of stockpyl 1.0.2. Costs: h a
piece left, p a piece short, K an order. No policy of ours goes by costs, which firms do not state: what is tried here
is what our levels are made of.
"""

import pytest

from service.domain.demand.counts import Counts


def cost(use: Counts, stock: int, left: float, short: float) -> float:
    """Give the mean cost of a period that begins with a stock."""
    return left * use.left(stock) + short * use.short(stock)


@pytest.mark.parametrize(
    ("use", "left", "short", "best", "costs"),
    [
        (Counts(50, 50), 0.18, 0.70, 56, 1.797235211809178),
        (Counts(6, 6), 1, 4, 8, 3.5701069457709416),
        (Counts(6, 12), 1, 4, 9, 5.31903076171875),  # negative binomial with r = 6, p = 0.5
    ],
)
def test_newsvendor(use: Counts, left: float, short: float, best: int, costs: float) -> None:
    """The best stock is the quantile at p / (p + h), and costs what is printed."""
    assert use.quantile(short / (short + left)) == best
    assert cost(use, best, left, short) == pytest.approx(costs, abs=1e-12)


def test_newsvendor_with_another_stock() -> None:
    """With 5 instead of 8 it costs 6.590296024616343."""
    assert cost(Counts(6, 6), 5, 1, 4) == pytest.approx(6.590296024616343, abs=1e-12)


def test_r_q() -> None:
    """Poisson with 1.5 a period, 2 periods of lead time, h = 20, p = 150, K = 100: (3, 5) at 107.92358063314975."""
    use = Counts(3, 3)
    costs = {
        (point, quantity): (
            100 * 1.5 + sum(cost(use, stock, 20, 150) for stock in range(point + 1, point + quantity + 1))
        )
        / quantity
        for point in range(10)
        for quantity in range(1, 15)
    }
    assert min(costs, key=lambda policy: costs[policy]) == (3, 5)
    assert costs[3, 5] == pytest.approx(107.92358063314975, abs=1e-10)


def test_s_s() -> None:
    """Poisson(6), h = 1, p = 4, K = 5: (4, 10) at 8.034111561471642, by renewal from one order to the next."""
    use = Counts(6, 6)
    chances = [use.at_most(number) - use.at_most(number - 1) for number in range(30)]
    visits = [1 / (1 - chances[0])]
    for gone in range(1, 25):
        visits.append(sum(chances[used] * visits[gone - used] for used in range(1, gone + 1)) / (1 - chances[0]))
    costs = {
        (point, up_to): (5 + sum(visits[gone] * cost(use, up_to - gone, 1, 4) for gone in range(up_to - point)))
        / sum(visits[: up_to - point])
        for point in range(10)
        for up_to in range(point + 1, point + 20)
    }
    assert min(costs, key=lambda policy: costs[policy]) == (4, 10)
    assert costs[4, 10] == pytest.approx(8.034111561471642, abs=1e-10)
