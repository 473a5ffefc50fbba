"""Spans: when a unit held what a recall speaks of, against which hands and wearings are held."""

from collections.abc import Iterable
from datetime import datetime

import msgspec

from service.domain.standing import FOREVER


class Span(msgspec.Struct, gc=False, frozen=True):
    """From when until when (None: it goes on); where only its day was said it may have begun as that did."""

    since: datetime
    until: datetime | None
    day: datetime | None = None


class Spans:
    """Spans of time up to a moment. Of one that goes on the moment itself is part.

    What ends before `begins` meets none.
    """

    __slots__ = ("_apart", "_at", "_loose", "begins")

    def __init__(self, spans: Iterable[Span], at: datetime) -> None:
        self._at, self.begins = at, FOREVER
        self._loose: list[tuple[datetime, datetime, bool]] = []
        strict: list[tuple[datetime, datetime]] = []
        for one in spans:
            begins, ends = one.day or one.since, at if one.until is None else one.until
            self._loose.append((begins, ends, one.until is None))
            strict.append((one.since, ends))
            self.begins = min(begins, self.begins)
        self._apart = _apart(strict)

    def meet(self, since: datetime, until: datetime | None) -> bool:
        """Say whether a time meets any, be it for its first moment alone; one without an end goes on."""
        return self.first_shared(since, until) is not None

    def first_shared(self, since: datetime, until: datetime | None) -> datetime | None:
        """Give the first moment that a time shares with any, as `meet` has it; None where there is none."""
        goes_on, end = until is None or since == self._at, self._at if until is None else until
        if end < self.begins:
            return None
        first: datetime | None = None
        for begins, ends, going in self._loose:
            meets = (going and goes_on) or begins <= since < ends or (begins < end and since < ends)
            if meets and (first is None or begins < first):
                first = begins
        return None if first is None else max(first, since)

    def seconds_of(self, since: datetime, until: datetime) -> int:
        """Give how much of [since, until) lies in them."""
        found = 0.0
        for begins, ends in self._apart:
            first, last = max(since, begins), min(until, ends)
            if first < last:
                found += (last - first).total_seconds()
        return int(found)


def _apart(spans: list[tuple[datetime, datetime]]) -> list[tuple[datetime, datetime]]:
    """Give spans in order, those joined that touch."""
    if len(spans) == 1:
        return spans
    apart: list[tuple[datetime, datetime]] = []
    for since, until in sorted(spans):
        if apart and since <= apart[-1][1]:
            begun, reach = apart.pop()
            apart.append((begun, max(reach, until)))
        else:
            apart.append((since, until))
    return apart
