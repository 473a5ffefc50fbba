"""Stretches of time: from when to when, where None is no end."""

from collections.abc import Iterable, Iterator
from datetime import datetime

from service.domain.standing import BEGINNING

Stretch = tuple[datetime, datetime | None]


def sooner(one: datetime | None, other: datetime | None) -> datetime | None:
    """Give the earlier of two ends."""
    if one is None or other is None:
        return other if one is None else one
    return min(one, other)


def shared(some: Iterable[Stretch], others: Iterable[Stretch]) -> Iterator[Stretch]:
    """Give what lies both in one of some stretches and in one of others."""
    beside = list(others)
    for since, until in some:
        for begins, ends in beside:
            first, last = max(since, begins), sooner(until, ends)
            if last is None or first < last:
                yield first, last


def joined(stretches: Iterable[Stretch]) -> list[Stretch]:
    """Give stretches in order, those as one that touch."""
    apart: list[Stretch] = []
    for since, until in sorted(stretches, key=lambda one: one[0]):
        if apart and (apart[-1][1] is None or since <= apart[-1][1]):
            begun, end = apart.pop()
            apart.append((begun, None if end is None or until is None else max(end, until)))
        else:
            apart.append((since, until))
    return apart


def without(stretches: Iterable[Stretch], others: Iterable[Stretch]) -> Iterator[Stretch]:
    """Give what of some stretches lies in none of others."""
    return shared(stretches, _between(joined(others)))


def _between(stretches: Iterable[Stretch]) -> Iterator[Stretch]:
    """Give the time before, between and after stretches that are in order and apart."""
    begun: datetime | None = BEGINNING
    for since, until in stretches:
        if begun is not None and begun < since:
            yield begun, since
        begun = until
    if begun is not None:
        yield begun, None
