"""Transfers: what other sites of the firm have too much of goes before what is bought.

A site spares what lies on its shelf, can still be used and is more than it owes and its own order-up-to level; and no
more than by which all that it has and expects lies above that level: what is only on its way frees nothing. Of all lots
that are offered the one that expires soonest goes first, since it would be lost; then of the site that has more.
"""

from collections.abc import Callable, Iterable, Iterator
from datetime import date
from math import floor

import msgspec

from service.domain.demand.shelf_life import Lot


class Surplus(msgspec.Struct, frozen=True):
    """What a site can spare of an item, in whole numbers of its unit: by lot, the soonest expiry first."""

    site: str
    lots: tuple[Lot, ...]

    @property
    def quantity(self) -> float:
        """Give how much that is."""
        return sum(lot.quantity for lot in self.lots)


class Transfer(msgspec.Struct, frozen=True):
    """So much of a lot and expiry from a site; None where they are not known."""

    from_site: str
    quantity: float
    lot: str | None = None
    expires: date | None = None


def surplus(
    site: str, lots: Iterable[Lot], owed: float, position: float, order_up_to: float, usable_from: date
) -> Surplus | None:
    """Give what a site can spare of lots that are good on a day; None for nothing.

    `position` is what it has and expects less what it owes.
    """
    good = sorted((lot for lot in lots if lot.expires is None or lot.expires >= usable_from), key=_soonest)
    there = sum(lot.quantity for lot in good)
    spared = tuple(_first(good, floor(min(there - owed, position) - order_up_to)))
    return Surplus(site, spared) if spared else None


def transfers(wanted: float, offered: Iterable[Surplus], used_by: Callable[[date], float]) -> tuple[Transfer, ...]:
    """Take what is wanted from what others can spare, as far as that goes; whole numbers.

    `used_by` says how much more is used up to a day where it goes: what would expire there first is not sent.
    """
    left = floor(wanted)
    found: list[Transfer] = []
    every = ((one, lot) for one in offered for lot in one.lots)
    for one, lot in sorted(every, key=lambda pair: (*_soonest(pair[1])[:1], -pair[0].quantity, pair[0].site)):
        quantity = min(left, floor(lot.quantity))
        if lot.expires is not None:
            quantity = min(quantity, floor(used_by(lot.expires) - sum(taken.quantity for taken in found)))
        if quantity > 0:
            found.append(Transfer(one.site, float(quantity), lot.lot, lot.expires))
            left -= quantity
    return tuple(found)


def less(offered: Iterable[Surplus], taken: Iterable[Transfer]) -> tuple[Surplus, ...]:
    """Give what is left of what others can spare once something of it is promised."""
    gone = {(one.from_site, one.lot, one.expires): one.quantity for one in taken}
    rest = (
        Surplus(
            one.site,
            tuple(
                Lot(left, lot.expires, lot.lot)
                for lot in one.lots
                if (left := lot.quantity - gone.get((one.site, lot.lot, lot.expires), 0.0)) > 0
            ),
        )
        for one in offered
    )
    return tuple(one for one in rest if one.lots)


def _first(lots: Iterable[Lot], quantity: int) -> Iterator[Lot]:
    """Give so much of lots in their order, in whole numbers of each."""
    left = quantity
    for lot in lots:
        much = min(left, floor(lot.quantity))
        if much > 0:
            yield Lot(float(much), lot.expires, lot.lot)
            left -= much


def _soonest(lot: Lot) -> tuple[date, str]:
    return lot.expires or date.max, lot.lot or ""
