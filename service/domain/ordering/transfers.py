"""Transfers: what other sites of the firm have too much of goes before what is bought.

A site spares what it has beyond its own order-up-to level and what it owes, of lots that can still be used where they
go. Of two sites the one whose stock expires sooner gives first, since it would be lost; then the one that has more.
"""

from collections.abc import Iterable
from datetime import date
from math import floor

import msgspec

from service.domain.demand.shelf_life import Lot


class Surplus(msgspec.Struct, frozen=True):
    """What a site can spare of an item, in whole numbers of its unit; `expires` is the soonest expiry among it."""

    site: str
    quantity: float
    expires: date | None = None


class Transfer(msgspec.Struct, frozen=True):
    """So much from a site."""

    from_site: str
    quantity: float


def surplus(site: str, lots: Iterable[Lot], position: float, order_up_to: float, usable_from: date) -> Surplus | None:
    """Give what a site can spare of lots that are good on a day; None for nothing.

    `position` is what it has and expects less what it owes: what is only on its way cannot be sent on.
    """
    good = [lot for lot in lots if lot.quantity > 0 and (lot.expires is None or lot.expires >= usable_from)]
    spare = floor(min(sum(lot.quantity for lot in good), position - order_up_to))
    if spare <= 0:
        return None
    return Surplus(site, float(spare), min((lot.expires for lot in good if lot.expires is not None), default=None))


def transfers(wanted: float, offered: Iterable[Surplus]) -> tuple[Transfer, ...]:
    """Take what is wanted from what others can spare, as far as that goes; whole numbers."""
    left = floor(wanted)
    found: list[Transfer] = []
    for one in sorted(offered, key=_turn):
        if left <= 0:
            break
        quantity = min(left, floor(one.quantity))
        found.append(Transfer(one.site, float(quantity)))
        left -= quantity
    return tuple(found)


def _turn(one: Surplus) -> tuple[object, ...]:
    return one.expires or date.max, -one.quantity, one.site
