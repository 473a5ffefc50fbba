"""Borne: a component with those who had and wore the unit that it was fitted in (R51), as far as it sat there."""

from collections.abc import Iterable, Iterator
from datetime import datetime

from msgspec.structs import replace

from service.domain.recall.impact import Life
from service.domain.recall.wearings import Wearing
from service.domain.stays import Stay

Lodging = tuple[datetime, datetime, Life]
"""From when until when it sat in a unit, and that unit's life."""


def borne(life: Life, lodgings: Iterable[Lodging]) -> Life:
    """Give a component's life with the hands and the wearings of the units that bore it."""
    every = list(lodgings)
    stays = [*life.stays, *(stay for lodging in every for stay in _hands(*lodging))]
    worn = tuple(one for lodging in every for one in _worn(*lodging))
    return replace(life, stays=tuple(sorted(stays, key=lambda stay: (stay.since, stay.position or ""))), borne=worn)


def _hands(since: datetime, until: datetime, host: Life) -> Iterator[Stay]:
    for stay in host.stays:
        begins, ends = max(stay.since, since), min(stay.until, until)
        if stay.holder is not None and begins < ends:
            day = None if stay.day is None else max(stay.day, since)
            yield replace(stay, since=begins, began=begins, until=ends, day=day)


def _worn(since: datetime, until: datetime, host: Life) -> Iterator[Wearing]:
    """Give the wearings that began meanwhile, or may have lasted into that."""
    for one in host.worn:
        ends = one.ends if until > host.at else until if one.ends is None else min(one.ends, until)
        if one.since < until and (one.since >= since or ends is None or ends > since):
            said = None if one.until is None else min(one.until, until)
            yield replace(one, at=max(one.at, since), until=said, since=max(one.since, since), ends=ends)
