"""How much is ordered: what is wanted, rounded to packs, at least the minimum, never more than can be used in time.

What can be used in time is, first, what will be used in the mean. Only where the smallest order is more than that is it
placed all the same, as long as it is no more than might be used at best (see `shelf_life`): else a site whose boxes are
large would stand without filters for the sake of a few that expire. Exact: numbers are taken as they are written, so
that three packs of 0.1 are 0.3.
"""

from fractions import Fraction
from math import ceil, floor
from typing import Literal

import msgspec

from service.domain.demand.shelf_life import Usable

Limit = Literal["minimum", "pack", "expiry"]


class Ordered(msgspec.Struct, frozen=True):
    """What is ordered, and what has made it another number than was wanted; all in the item's unit.

    `rounded` is what would be ordered if nothing expired. `limits` name, in the order in which they bit, the minimum
    order, the pack and the expiry. With `expiry` and a quantity of zero even the smallest order would expire unused.
    """

    wanted: float
    rounded: float
    quantity: float
    limits: tuple[Limit, ...] = ()


def ordered(
    wanted: float, pack: float | None = None, minimum: float | None = None, usable: Usable | None = None
) -> Ordered:
    """Give the quantity to order. A pack of zero or None is a single piece; `usable` None is without end."""
    if wanted <= 0:
        return Ordered(0.0, 0.0, 0.0)
    size = _exact(pack) or Fraction(1)
    asked = max(_exact(wanted), _exact(minimum))
    rounded = ceil(asked / size) * size
    most = rounded if usable is None else _most(usable, size, max(size, ceil(_exact(minimum) / size) * size))
    bites: tuple[tuple[Limit, bool], ...] = (
        ("minimum", asked > _exact(wanted)),
        ("pack", rounded > asked),
        ("expiry", rounded > most),
    )
    limits = tuple(limit for limit, bites in bites if bites)
    return Ordered(wanted, float(rounded), float(min(rounded, most)), limits)


def _most(usable: Usable, size: Fraction, smallest: Fraction) -> Fraction:
    """Give the most that can be used in time, in whole packs; zero where that is less than the smallest order."""
    packed = floor(usable.expected / size) * size
    if packed >= smallest:
        return packed
    return smallest if smallest <= usable.at_best else Fraction(0)


def _exact(number: float | None) -> Fraction:
    return Fraction(str(number or 0))
