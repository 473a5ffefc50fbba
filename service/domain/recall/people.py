"""People: who had or wore what a recall speaks of, over all units together."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from datetime import datetime
from typing import NamedTuple

import msgspec

from service.domain.holder import Holder
from service.domain.recall.impact import Touched


class Exposed(msgspec.Struct, frozen=True, kw_only=True):
    """Somebody who had or wore units while they held what a recall speaks of.

    `units` are so many of them. `held_seconds` are summed over units, so that two units held at once count twice;
    `worn_seconds` are those whose end was said. From `first` to `last` they had or wore one, as far as is on record.
    It is `certain` where anything that they had or wore then is known to be meant.
    """

    holder: Holder
    certain: bool
    units: int
    held_seconds: int
    times_worn: int
    worn_seconds: int
    first: datetime
    last: datetime


class _Share(NamedTuple):
    """What one unit adds to somebody."""

    unit: int
    certain: bool
    held: int
    times: int
    worn: int
    first: datetime
    last: datetime


def exposed(units: Iterable[Touched], at: datetime) -> list[Exposed]:
    """Tell of persons, crews, vehicles and places, each by name, up to a moment."""
    found: dict[Holder, list[_Share]] = defaultdict(list)
    for nth, unit in enumerate(units):
        for holder, share in _shares(nth, unit, at):
            found[holder].append(share)
    return [_of(holder, found[holder]) for holder in sorted(found, key=in_order)]


def in_order(holder: Holder) -> tuple[str, ...]:
    """Give what holders are sorted by."""
    return (holder.place or "", holder.vehicle or "", holder.crew or "", holder.person or "")


def _shares(nth: int, unit: Touched, at: datetime) -> Iterator[tuple[Holder, _Share]]:
    for hand in unit.hands:
        last = at if hand.until is None else hand.until
        yield hand.holder, _Share(nth, hand.certain, hand.seconds, 0, 0, hand.since, last)
    for worn in unit.wearers:
        holder = Holder(person=worn.person)
        yield holder, _Share(nth, worn.certain, 0, worn.times, worn.seconds, worn.first, worn.last)


def _of(holder: Holder, shares: list[_Share]) -> Exposed:
    return Exposed(
        holder=holder,
        certain=any(share.certain for share in shares),
        units=len({share.unit for share in shares}),
        held_seconds=sum(share.held for share in shares),
        times_worn=sum(share.times for share in shares),
        worn_seconds=sum(share.worn for share in shares),
        first=min(share.first for share in shares),
        last=max(share.last for share in shares),
    )
