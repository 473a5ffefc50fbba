"""Progress: how far a recall has come at each site, day by day; a unit that is issued again has come less far.

A unit counts at the site where it was at each moment: once it has moved, with all that was done about it by then, at
the other site, and where it was until then no more.
"""

from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from datetime import date, datetime
from typing import Final, Literal, NamedTuple

import msgspec
from msgspec.structs import replace

from service.domain.stretches import Stretch, shared

Step = Literal["located", "stopped", "put_away", "remedied", "outstanding"]
STEPS: Final[tuple[Step, ...]] = ("located", "stopped", "put_away", "remedied", "outstanding")


class Place(NamedTuple):
    """A unit was at a site from when to when; None is no end."""

    since: datetime
    until: datetime | None
    site: str


class Course(msgspec.Struct, frozen=True):
    """A spell of a unit under a recall: the stretches in which it had come so far, and where it was meanwhile."""

    places: tuple[Place, ...]
    steps: dict[Step, tuple[Stretch, ...]]

    def at(self, sites: frozenset[str] | None) -> "Course":
        """Give it as far as it was at some sites (None: any)."""
        return replace(self, places=tuple(one for one in self.places if sites is None or one.site in sites))


class Day(msgspec.Struct, frozen=True):
    """How many units that were at a site at the end of a day there had come so far by then."""

    site: str
    day: date
    located: int
    stopped: int
    put_away: int
    remedied: int
    outstanding: int


def progress(courses: Iterable[Course], day_at: Callable[[datetime, str], date]) -> list[Day]:
    """Give the days on which anything changed, by site and in order; `day_at` is the day of a moment at a site.

    What ends at a moment and goes on from there has not changed.
    """
    sites: dict[str, dict[datetime, Counter[str]]] = {}
    for site, step, at, more in (change for course in courses for change in _changes(course)):
        sites.setdefault(site, {}).setdefault(at, Counter())[step] += more
    return [day for site in sorted(sites) for day in _summed(site, _by_day(site, sites[site], day_at))]


def _changes(course: Course) -> Iterator[tuple[str, Step, datetime, int]]:
    for place in course.places:
        for step, stretches in course.steps.items():
            for since, until in shared(stretches, [(place.since, place.until)]):
                yield place.site, step, since, 1
                if until is not None:
                    yield place.site, step, until, -1


def _by_day(
    site: str, moments: dict[datetime, Counter[str]], day_at: Callable[[datetime, str], date]
) -> dict[date, Counter[str]]:
    """Add up the changes of each day."""
    days: dict[date, Counter[str]] = {}
    for at, changes in moments.items():
        if any(changes.values()):
            days.setdefault(day_at(at, site), Counter()).update(changes)
    return days


def _summed(site: str, days: dict[date, Counter[str]]) -> Iterator[Day]:
    """Add up the days of a site."""
    so_far: Counter[str] = Counter()
    for day in sorted(days):
        so_far.update(days[day])
        yield Day(site, day, **{step: so_far[step] for step in STEPS})
