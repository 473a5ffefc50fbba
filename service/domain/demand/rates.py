"""Forecasts of the mean use in a period, for items that are not used in every one.

Each function gives the forecast as it stood after each period, so that the last is the forecast now and all of them can
be held against what followed. Before the first use it is zero. Floats, sums of a few terms a period: rounding is far
below the error of any forecast.

Sources: Croston (1972), Operational Research Quarterly 23, 289-303, begun as R's `forecast::croston` begins it;
Syntetos and Boylan (2005), International Journal of Forecasting 21, 303-314 (the correction of its bias); Teunter,
Syntetos and Babai (2011), European Journal of Operational Research 214, 606-615. The smoothing of 0.1 is customary.
Volumes and pages are cited from memory; values are held against published ones in the tests.
"""

from collections.abc import Callable, Iterator, Sequence
from typing import Literal

Method = Literal["croston", "sba", "tsb"]
SMOOTHING = 0.1


def croston(series: Sequence[float], smoothing: float = SMOOTHING) -> tuple[float, ...]:
    """Smooth the quantities used and the periods between uses, each where something is used; give their ratio.

    It begins with the first quantity, and the number of the period in which that was used.
    """
    return tuple(_croston(series, smoothing))


def _croston(series: Sequence[float], smoothing: float) -> Iterator[float]:
    size = interval = 0.0
    last = 0
    for period, used in enumerate(series, 1):
        if used > 0:
            share = smoothing if last else 1.0
            size += share * (used - size)
            interval += share * (period - last - interval)
            last = period
        yield size / interval if last else 0.0


def sba(series: Sequence[float], smoothing: float = SMOOTHING) -> tuple[float, ...]:
    """Give Croston's forecast less its bias, which is half the smoothing of it."""
    return tuple(rate * (1 - smoothing / 2) for rate in croston(series, smoothing))


def tsb(series: Sequence[float], smoothing: float = SMOOTHING, fading: float = SMOOTHING) -> tuple[float, ...]:
    """Smooth the quantities used, and in every period the chance of use; give their product, which fades without use.

    It begins with the first quantity, and a chance of one or nil as there was use in the first period.
    """
    return tuple(_tsb(series, smoothing, fading))


def _tsb(series: Sequence[float], smoothing: float, fading: float) -> Iterator[float]:
    size = chance = 0.0
    for period, used in enumerate(series):
        chance += (fading if period else 1.0) * ((used > 0) - chance)
        if used > 0:
            size += (smoothing if size else 1.0) * (used - size)
        yield size * chance


METHODS: dict[Method, Callable[[Sequence[float]], tuple[float, ...]]] = {"croston": croston, "sba": sba, "tsb": tsb}
