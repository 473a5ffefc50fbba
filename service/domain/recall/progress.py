"""Progress: how far a recall has come at each site, day by day."""

from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from datetime import date, datetime

import msgspec

STEPS = ("located", "stopped", "put_away", "remedied")


class Course(msgspec.Struct, frozen=True):
    """When a unit came under a recall, what was done about it first and when, and since when nothing is to be done."""

    site: str
    since: datetime
    located: datetime | None
    stopped: datetime | None
    put_away: datetime | None
    remedied: datetime | None
    ended: datetime | None


class Day(msgspec.Struct, frozen=True):
    """How many units of a site had come so far by the end of a day there; `outstanding` are still to be dealt with."""

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
    yield "outstanding", course.since, 1
    if course.ended is not None:
        yield "outstanding", max(course.ended, course.since), -1
    for step in STEPS:
        at: datetime | None = getattr(course, step)
        if at is not None:
            yield step, at, 1


def _summed(site: str, days: dict[date, Counter[str]]) -> Iterator[Day]:
    """Add up the days of a site."""
    so_far: Counter[str] = Counter()
    for day in sorted(days):
        so_far.update(days[day])
        yield Day(site, day, outstanding=so_far["outstanding"], **{step: so_far[step] for step in STEPS})
