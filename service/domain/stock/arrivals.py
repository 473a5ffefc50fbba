"""Arrivals: what was moved to a site has the expiry of its lot as it is told anywhere, where nobody tells one here.

A carton does not last longer for having been moved. Where several expiries were told of a lot elsewhere the soonest is
taken: it is known of no carton that it lasts longer.

What names no lot stays without an expiry, though the books of the sending site take it off lines that have one. That is
a guess, the oldest first, and where it arrives it would stand like something told: a filter fitted there later with the
expiry that is printed on it could not be of what was guessed otherwise, so that its own line fell below nothing, and
the guess lay there until somebody counted. Without an expiry it may be of any, and whatever is told of it fits. And it
would rest on the whole history of every site that ever sent something on, in one fold of all of them, since two may
send to each other at one instant.
"""

from collections.abc import Collection, Iterable, Mapping

from service.domain.event import StockEvent
from service.domain.label import sorting
from service.domain.stock.changes import Change
from service.domain.words import expiry_day

Lot = tuple[str, str]
"""An item and a lot of it, as it is compared."""


def lots_to_look_for(changes: Collection[Change]) -> frozenset[tuple[str, str]]:
    """Give item and lot, as written, of what was moved to a site and has no expiry there; `changes` are the site's."""
    told = _told(changes)
    return frozenset((one.item, one.lot) for one in changes if _is_bare(one) and one.lot and _lot(one) not in told)


def expiries_of(events: Iterable[StockEvent]) -> dict[Lot, str]:
    """Give the soonest expiry that was told of each lot."""
    found: dict[Lot, str] = {}
    for event in events:
        if event.lot is not None and event.expires is not None:
            lot = event.item, sorting(event.lot)
            known = found.get(lot, event.expires)
            found[lot] = min(known, event.expires, key=lambda said: (expiry_day(said), said))
    return found


def with_expiries_of(changes: Collection[Change], expiries: Mapping[Lot, str]) -> list[Change]:
    """Give the changes, what was moved here with the expiry of its lot, unless the site tells one of that lot itself.

    `expiries` may have more than was looked for here, for the sake of others that are asked about at once.
    """
    told = _told(changes)
    meant = {one: lot for one in changes if _is_bare(one) and (lot := _lot(one)) not in told}
    return [one._replace(expires=expiries.get(meant[one])) if one in meant else one for one in changes]


def _told(changes: Iterable[Change]) -> set[Lot]:
    return {_lot(one) for one in changes if one.lot is not None and one.expires is not None}


def _is_bare(change: Change) -> bool:
    return change.what == "moved-in" and change.lot is not None and change.expires is None


def _lot(change: Change) -> Lot:
    return change.item, sorting(change.lot or "")
