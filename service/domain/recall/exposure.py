"""Exposure: who had and who wore a unit while it held what a recall speaks of."""

from collections.abc import Iterable, Iterator
from datetime import datetime

import msgspec

from service.domain.holder import Holder
from service.domain.recall.spans import Spans
from service.domain.recall.wearings import Wearing
from service.domain.stays import Stay
from service.domain.wearing import KnownBy


class Hand(msgspec.Struct, gc=False, frozen=True):
    """Who had the unit, at which site, while it held what the recall speaks of, and for how many seconds in that."""

    holder: Holder
    site: str
    since: datetime
    until: datetime | None
    seconds: int


class Wearer(msgspec.Struct, gc=False, frozen=True):
    """Who wore it meanwhile: how often, first and last, and for how many seconds as far as an end was said.

    What may have lasted into that counts from the first moment that it shares with it: never before it was there.
    `known_by` are the kinds of the events that tell of it. At another site it is told by itself.
    """

    person: str
    site: str
    times: int
    first: datetime
    last: datetime
    seconds: int
    known_by: tuple[KnownBy, ...]


Worn = tuple[Wearing, datetime]
"""A wearing, and the first moment of it that counts."""


def hands(stays: Iterable[Stay], spans: Spans, at: datetime) -> Iterator[Hand]:
    """Tell of the hands that had the unit meanwhile, if only at the moment asked about."""
    for stay in stays:
        if stay.holder is None or stay.until < spans.begins:
            continue
        until = None if stay.until > at else stay.until
        if spans.meet(stay.day or stay.since, until):
            yield Hand(stay.holder, stay.site or "", stay.since, until, spans.seconds_of(stay.began, until or at))


def meanwhile(worn: Iterable[Wearing], spans: Spans) -> list[Worn]:
    """Give the wearings that may have lasted into them."""
    found: list[Worn] = []
    for one in worn:
        first = spans.first_shared(one.since, one.ends)
        if first is not None:
            found.append((one, first))
    return found


def wearers(worn: Iterable[Worn], spans: Spans) -> list[Wearer]:
    """Tell of those who wore it meanwhile, by person and site."""
    found: dict[tuple[str, str], Wearer] = {}
    for one, first in worn:
        who, at = (one.person, one.site), max(one.at, first)
        seconds = 0 if one.until is None else spans.seconds_of(one.at, one.until)
        old = found.get(who)
        if old is None:
            found[who] = Wearer(*who, 1, at, at, seconds, (one.known_by,))
            continue
        known_by = tuple(sorted({*old.known_by, one.known_by}))
        begun, last = min(old.first, at), max(old.last, at)
        found[who] = Wearer(*who, old.times + 1, begun, last, old.seconds + seconds, known_by)
    return [found[who] for who in sorted(found)] if len(found) > 1 else [*found.values()]
