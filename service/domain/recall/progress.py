"""Progress: how far a recall has come at each site, day by day; a unit that is issued again has come less far."""

from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from datetime import date, datetime

import msgspec

STEPS = ("located", "stopped", "put_away", "remedied")
Stretch = tuple[datetime, datetime | None]
"""From when to when; None is no end."""


class Course(msgspec.Struct, frozen=True):
    """A spell of a unit under a recall: when it came under it, what was done first and when, since when all is done.

    `away` are the stretches in which it was put away. From `again`, when it came anew under it, none of that counts.
    """

    site: str
    since: datetime
    located: datetime | None
    stopped: datetime | None
    away: tuple[Stretch, ...]
    remedied: datetime | None
    ended: datetime | None
    again: datetime | None = None


class Day(msgspec.Struct, frozen=True):
    """How many units of a site had come so far at the end of a day there; `outstanding` are still to be dealt with."""

    site: str
    day: date
    located: int
    stopped: int
    put_away: int
    remedied: int
    outstanding: int


def progress(courses: Iterable[Course], day_at: Callable[[datetime, str], date]) -> list[Day]:
    """Give the days on which anything changed, by site and in order; `day_at` is the day of a moment at a site."""
    sites: dict[str, dict[date, Counter[str]]] = {}
    for course in courses:
        days = sites.setdefault(course.site, {})
        for word, at, more in _changes(course):
            days.setdefault(day_at(at, course.site), Counter())[word] += more
    return [day for site in sorted(sites) for day in _summed(site, sites[site])]


def _changes(course: Course) -> Iterator[tuple[str, datetime, int]]:
    yield from _change("outstanding", course.since, None if course.ended is None else max(course.ended, course.since))
    for word, at in (("located", course.located), ("stopped", course.stopped), ("remedied", course.remedied)):
        if at is not None:
            yield from _change(word, at, course.again)
    for since, until in course.away:
        yield from _change("put_away", since, until)


def _change(word: str, since: datetime, until: datetime | None) -> Iterator[tuple[str, datetime, int]]:
    yield word, since, 1
    if until is not None:
        yield word, until, -1


def _summed(site: str, days: dict[date, Counter[str]]) -> Iterator[Day]:
    """Add up the days of a site."""
    so_far: Counter[str] = Counter()
    for day in sorted(days):
        so_far.update(days[day])
        yield Day(site, day, outstanding=so_far["outstanding"], **{step: so_far[step] for step in STEPS})
