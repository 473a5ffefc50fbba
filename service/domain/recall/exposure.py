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
    """Who had the unit, at which site, while it held what the recall speaks of, and for how many seconds in that.

    It is `certain` where anything of that is known to be meant.
    """

    holder: Holder
    site: str
    since: datetime
    until: datetime | None
    seconds: int
    certain: bool


class Wearer(msgspec.Struct, gc=False, frozen=True):
    """Who wore it meanwhile: how often, first and last, and for how many seconds as far as an end was said.

    What may have lasted into that counts from the first moment that it shares with it: never before it was there.
    `known_by` are the kinds of the events that tell of it. At another site it is told by itself. It is `certain` where
    anything that the unit held then is known to be meant.
    """

    person: str
    site: str
    times: int
    first: datetime
    last: datetime
    seconds: int
    known_by: tuple[KnownBy, ...]
    certain: bool


Sure = Spans | bool
"""When a unit held what is known to be meant; true where all that is spoken of is, and false where nothing is."""
Worn = tuple[Wearing, datetime]
"""A wearing, and the first moment of it that counts."""


def hands(stays: Iterable[Stay], spans: Spans, sure: Sure, at: datetime) -> Iterator[Hand]:
    """Tell of the hands that had the unit meanwhile, if only at the moment asked about."""
    for stay in stays:
        if stay.holder is None or stay.until < spans.begins:
            continue
        until = None if stay.until > at else stay.until
        first = stay.day or stay.since
        if spans.meet(first, until):
            seconds, certain = spans.seconds_of(stay.began, until or at), _is_sure(sure, first, until)
            yield Hand(stay.holder, stay.site or "", stay.since, until, seconds, certain)


def meanwhile(worn: Iterable[Wearing], spans: Spans) -> list[Worn]:
    """Give the wearings that may have lasted into them."""
    found: list[Worn] = []
    for one in worn:
        first = spans.first_shared(one.since, one.ends)
        if first is not None:
            found.append((one, first))
    return found


def wearers(worn: Iterable[Worn], spans: Spans, sure: Sure) -> list[Wearer]:
    """Tell of those who wore it meanwhile, by person and site."""
    found: dict[tuple[str, str], Wearer] = {}
    for one, first in worn:
        who, at = (one.person, one.site), max(one.at, first)
        seconds = 0 if one.until is None else spans.seconds_of(one.at, one.until)
        old, certain = found.get(who), _is_sure(sure, one.since, one.ends)
        if old is None:
            found[who] = Wearer(*who, 1, at, at, seconds, (one.known_by,), certain)
            continue
        known_by = tuple(sorted({*old.known_by, one.known_by}))
        begun, last = min(old.first, at), max(old.last, at)
        found[who] = Wearer(*who, old.times + 1, begun, last, old.seconds + seconds, known_by, old.certain or certain)
    return [found[who] for who in sorted(found)] if len(found) > 1 else [*found.values()]


def _is_sure(sure: Sure, since: datetime, until: datetime | None) -> bool:
    """Say whether a time meets anything that is known to be meant."""
    return sure if isinstance(sure, bool) else sure.meet(since, until)
