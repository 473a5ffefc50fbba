"""Chances of how much will be used: Poisson, or negative binomial where use varies more than that.

Both are one recursion. With d = variance / mean - 1 (zero for Poisson), f(k+1) = f(k) (mean + k d) / ((k+1) (1+d)),
which is the recursion of Panjer (1981), ASTIN Bulletin 12 (from memory), told by mean and variance: of the usual
parameters of the negative binomial, r = mean / d and p = 1 / (1 + d). Chances are taken relative to the likeliest
number and divided by their sum, so that none underflows; what lies where they are below 1e-20 of the largest is left
out. Errors: some 1e-15 for each number in reach. Time and room grow with the spread: some twenty numbers for each unit
of the standard deviation, and fifty for each of variance / mean. So where that would be more than `MOST_NUMBERS` the
closed form of `widely` is taken. Quantities count as whole numbers of the item's unit.
"""

from functools import lru_cache
from itertools import accumulate
from math import ceil, sqrt
from typing import Final, Literal

import msgspec

from service.domain.demand.widely import Widely

Family = Literal["none", "poisson", "negative-binomial"]
NEGLIGIBLE = 1e-20
ROUNDING = 1e-12
MOST_NUMBERS: Final = 3000
"""Numbers that are gone through at most; a hundred thousand of them take some 30 ms."""
KEPT: Final = 64
"""Distributions whose chances are kept, some 100 kB each at most: those of one item are asked for again at once."""


class Counts(msgspec.Struct, frozen=True):
    """Use with a mean and a variance, in the item's unit and its square; neither negative.

    A variance below the mean counts as the mean: use is taken to vary by chance at least.
    """

    mean: float
    variance: float = 0.0

    @property
    def family(self) -> Family:
        """Name the distribution."""
        if self.mean <= 0:
            return "none"
        return "negative-binomial" if self.variance > self.mean else "poisson"

    @property
    def taken(self) -> float:
        """Give the variance that it is taken to have: the mean at least."""
        return max(self.mean, self.variance)

    @property
    def widely(self) -> Widely | None:
        """Give it in closed form where it spreads too widely to go through its numbers; else None."""
        if self.mean <= 0:
            return None
        variance = self.taken
        numbers = 20 * sqrt(variance) + 50 * (variance / self.mean)
        return Widely(self.mean, variance) if numbers > MOST_NUMBERS else None

    def plus(self, other: "Counts") -> "Counts":
        """Give the sum of both, as they are independent."""
        return Counts(self.mean + other.mean, self.variance + other.variance)

    def at_most(self, quantity: float) -> float:
        """Give the chance that no more than this is used."""
        if (widely := self.widely) is not None:
            return widely.at_most(quantity)
        low, chances = _chances(self.mean, self.variance)
        return sum(chances[: max(0, int(quantity // 1) - low + 1)])

    def quantile(self, level: float) -> int:
        """Give the smallest whole number that is exceeded with no more than the chance `1 - level`; 0 < level < 1.

        A chance that misses the level by 1e-12, which is rounding, has reached it.
        """
        if not 0 < level < 1:
            message = f"a level lies between 0 and 1, both excluded: {level}"
            raise ValueError(message)
        if (widely := self.widely) is not None:
            return widely.quantile(level)
        low, chances = _chances(self.mean, self.variance)
        reached = (low + place for place, chance in enumerate(accumulate(chances)) if chance >= level - ROUNDING)
        return next(reached, low + len(chances) - 1)

    def short(self, stock: float) -> float:
        """Give the mean of what is asked for beyond a stock: E[(use - stock)+], the loss function."""
        if (widely := self.widely) is not None:
            return widely.short(stock)
        low, chances = _chances(self.mean, self.variance)
        first = max(0, ceil(stock) - low)
        return sum(chance * (number - stock) for number, chance in enumerate(chances[first:], low + first))

    def left(self, stock: float) -> float:
        """Give the mean of what is left of a stock: E[(stock - use)+]."""
        return stock - self.mean + self.short(stock)


@lru_cache(maxsize=KEPT)
def _chances(mean: float, variance: float) -> tuple[int, tuple[float, ...]]:
    """Give the lowest number that has a chance, and the chances from it on."""
    if mean <= 0:
        return 0, (1.0,)
    extra = max(0.0, variance / mean - 1)
    over = 1 + extra
    likeliest = max(0, int(mean - extra))
    up, chance, number = [1.0], 1.0, likeliest
    while chance > NEGLIGIBLE:
        chance = chance * (mean + number * extra) / ((number + 1) * over)
        up.append(chance)
        number += 1
    down: list[float] = []
    chance = 1.0
    for number in range(likeliest - 1, -1, -1):
        chance *= (number + 1) * over / (mean + number * extra)
        if chance <= NEGLIGIBLE:
            break
        down.append(chance)
    total = sum(up) + sum(down)
    chances = [chance / total for chance in (*reversed(down), *up)]
    return likeliest - len(down), tuple(chances)
