"""The pattern of a demand series: how rarely something is used, and how unequal the quantities are.

Source: Syntetos, Boylan and Croston (2005), "On the categorization of demand patterns", Journal of the Operational
Research Society 56, 495-503: cut-offs of 1.32 periods and 0.49.
"""

from collections.abc import Sequence
from fractions import Fraction
from typing import Literal

import msgspec

Kind = Literal["none", "smooth", "erratic", "intermittent", "lumpy"]
RARE = Fraction("1.32")
UNEQUAL = Fraction("0.49")


class Pattern(msgspec.Struct, frozen=True):
    """The class of a series, and what it rests on.

    `interval` is the mean number of periods for each one with use (ADI); `cv2` the squared coefficient of variation of
    the quantities used in those periods (of the population). Both are None where nothing was used.
    """

    kind: Kind
    interval: float | None = None
    cv2: float | None = None


def pattern(series: Sequence[float]) -> Pattern:
    """Classify a series. What lies on a cut-off counts as beyond it; compared exactly, in fractions."""
    sizes = [Fraction(used) for used in series if used > 0]
    if not sizes:
        return Pattern("none")
    total = sum(sizes)
    interval = Fraction(len(series), len(sizes))
    cv2 = (len(sizes) * sum(size * size for size in sizes) - total * total) / (total * total)
    return Pattern(_kind(rare=interval >= RARE, unequal=cv2 >= UNEQUAL), float(interval), float(cv2))


def _kind(*, rare: bool, unequal: bool) -> Kind:
    if rare:
        return "lumpy" if unequal else "intermittent"
    return "erratic" if unequal else "smooth"
