"""Shelf life: what of a stock will expire before it is used, and how much more can be used in time.

Oldest expiry first. Source of counting out what will expire: Broekmeulen and van Donselaar
(2009), "A heuristic to manage perishable inventory with batch ordering, positive lead-times, and time-varying demand",
Computers & Operations Research 36, 3013-3018.
"""

from collections.abc import Iterable
from datetime import date
from math import floor

import msgspec

from service.domain.demand.counts import Counts


class Lot(msgspec.Struct, frozen=True):
    """So much of one expiry; the last day of it is a day of use. None does not expire. `lot` names it where known."""

    quantity: float
    expires: date | None = None
    lot: str | None = None


def expiring(lots: Iterable[Lot], per_day: float, today: date, until: date) -> float:
    """Give how much of the lots that expire before `until` will not have been used by then, at a mean use a day."""
    used = wasted = 0.0
    for lot in sorted(lots, key=lambda lot: lot.expires or date.max):
        if lot.expires is None or lot.expires >= until:
            break
        in_time = max(0.0, per_day * max(0, (lot.expires - today).days + 1) - used)
        taken = min(lot.quantity, in_time)
        used += taken
        wasted += lot.quantity - taken
    return wasted


class Usable(msgspec.Struct, frozen=True):
    """How much more can be used before it expires, in whole numbers: in the mean, and at best."""

    expected: int
    at_best: int


def usable(use: Counts, position: float, level: float) -> Usable:
    """Give how much more can be used before it expires.

    `use` is that from now to the day on which what is ordered now will expire, `position` what is there and on its way,
    which goes first. At best means as much as is exceeded with no more than the chance `1 - level`: the quantity of the
    newsvendor to whom being short weighs so much against having left.
    """
    return Usable(max(0, floor(use.mean - position)), max(0, floor(use.quantile(level) - position)))
