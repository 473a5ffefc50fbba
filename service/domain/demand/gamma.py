"""The gamma distribution: its chances, for shapes up to some hundreds. The scale is one.

Source of the series and the continued fraction (by Lentz's method): Press, Teukolsky, Vetterling and Flannery,
"Numerical recipes", the chapter on the incomplete gamma function (from memory); held against scipy in the tests. Both
end after some multiple of the square root of the shape: never past `MOST_TERMS`.
"""

from math import exp, lgamma, log
from typing import Final

MOST_TERMS: Final = 1000
"""Terms that are added up at most; a shape of 400 takes some 250."""
CLOSE: Final = 1e-14
TINY: Final = 1e-300


def beyond(shape: float, number: float) -> float:
    """Give the chance of more than a number: the upper incomplete gamma function, regularised."""
    if number <= 0:
        return 1.0
    weight = exp(shape * log(number) - number - lgamma(shape))
    if number < shape + 1:
        return max(0.0, 1 - weight * _series(shape, number))
    return weight * _fraction(shape, number)


def _series(shape: float, number: float) -> float:
    term = total = 1 / shape
    for nth in range(1, MOST_TERMS):  # pragma: no branch - it is near enough long before
        term *= number / (shape + nth)
        total += term
        if term < total * CLOSE:
            break
    return total


def _fraction(shape: float, number: float) -> float:
    b = number + 1 - shape
    c, d = 1 / TINY, 1 / b
    found = d
    for nth in range(1, MOST_TERMS):  # pragma: no branch - it is near enough long before
        a = nth * (shape - nth)
        b += 2
        d = 1 / _not_nil(b + a * d)
        c = _not_nil(b + a / c)
        found *= c * d
        if abs(c * d - 1) < CLOSE:
            break
    return found


def _not_nil(number: float) -> float:
    return number if abs(number) > TINY else TINY
