"""Lodgings: from when until when a component sat in which unit (R51).

A swap that states its day alone counts at the day's end (R1); it may have been as that began. Nobody says when on that
day the component left the unit that it came from either, so for a while it may be in both.
"""

from collections import deque
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from typing import Generic, NamedTuple, TypeVar

from service.domain.standing import BEGINNING, FOREVER

Host = TypeVar("Host")


class Lodging(NamedTuple, Generic[Host]):
    """A component in a unit: [since, until), at the earliest from `day` on, which is `since` where no day is stated."""

    since: datetime
    until: datetime
    host: Host
    day: datetime


def in_turn(lodgings: Iterable[Lodging[Host]]) -> Iterator[Lodging[Host]]:
    """Cut lodgings, in order, to when the component may have gone to the next: no two of them share a moment."""
    every = list(lodgings)
    left = BEGINNING
    for nth, one in enumerate(every):
        day = max(one.day, left)
        left = max(day, min([one.until, *(after.day for after in every[nth + 1 : nth + 2])]))
        yield one._replace(until=left, day=day)


def lodged(lodgings: Iterable[Lodging[Host]], at: datetime) -> Lodging[Host] | None:
    """Give where a component is at a moment by what was said last, be that by a day that is not over."""
    return next((one for one in in_turn(lodgings) if one.day <= at < one.until), None)


def through(unit: Host, lodgings: Mapping[Host, Sequence[Lodging[Host]]]) -> list[Lodging[Host]]:
    """Give where a component sat, and where that sat in turn, as far as it was in that; in itself nothing sits.

    Of what lies in another of the same unit nothing is told: so components that sit in each other cost no more.
    """
    found: list[Lodging[Host]] = []
    waiting = deque([Lodging(BEGINNING, FOREVER, unit, BEGINNING)])
    while waiting:
        one = waiting.popleft()
        for other in _shared(one, lodgings.get(one.host, ())):
            if other.host != unit and not any(_lies_in(other, known) for known in found):
                found = [*(known for known in found if not _lies_in(known, other)), other]
                waiting.append(other)
    return found


def outermost(
    unit: Host,
    lodgings: Mapping[Host, Sequence[Lodging[Host]]],
    inside: Lodging[Host] | None = None,
    within: frozenset[Host] = frozenset(),
) -> Iterator[Lodging[Host]]:
    """Give where a component sat at last, one unit after the other: through the components that it sat in.

    So it does while it was `inside` one, if that is given; `within` are those that it sat in so far.
    """
    mine = in_turn(one for one in lodgings.get(unit, ()) if one.host not in within)
    for one in mine if inside is None else _shared(inside, mine):
        left = one.day
        for other in outermost(one.host, lodgings, one, within | {unit, one.host}):
            if left < other.day:
                yield one._replace(day=left, since=max(one.since, left), until=other.day)
            yield other
            left = other.until
        if left < one.until:
            yield one._replace(day=left, since=max(one.since, left))


def _lies_in(one: Lodging[Host], other: Lodging[Host]) -> bool:
    """Say whether another tells all of it."""
    sure = one.since < one.until
    inside = one.host == other.host and other.day <= one.day and one.until <= other.until
    return inside and (not sure or other.since <= one.since)


def _shared(one: Lodging[Host], others: Iterable[Lodging[Host]]) -> Iterator[Lodging[Host]]:
    """Cut lodgings to the time of another."""
    for other in others:
        since, until, day = max(one.since, other.since), min(one.until, other.until), max(one.day, other.day)
        if day < until:
            yield Lodging(min(since, until), until, other.host, day)
