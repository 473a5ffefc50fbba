"""When a site works: the days and shifts in which an issued unit counts as used (R18).

A shift starts and ends by the clock on the wall, so that one over a clock change is an hour shorter or longer and the
next starts as it ends. It belongs to the day it starts on. What may live here: working days, shifts, closings.
"""

from collections.abc import Iterator
from datetime import UTC, date, datetime, time, timedelta
from functools import lru_cache
from typing import NamedTuple
from zoneinfo import ZoneInfo

from service.domain.calendar import DAY, at_wall, day_end, day_start, local_day
from service.domain.kinds.site_defined import Calendar, Shift, SiteDefined, Weekday
from service.domain.period import Period, months_from

WEEKDAYS: tuple[Weekday, ...] = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
EVERY_DAY = Calendar(working_days=WEEKDAYS)
FIRST_INSTANT = datetime(1890, 1, 1, tzinfo=UTC)
LAST_DAY = date(9999, 12, 30)
LAST_INSTANT = datetime(9999, 12, 30, tzinfo=UTC)


class WorkingUse(NamedTuple):
    """A stretch [start, end) in which one use counts: a shift of a working day, or the whole day (shift None)."""

    day: date
    shift: str | None
    start: datetime
    end: datetime


def working_uses(
    calendar: Calendar | None,
    zone: ZoneInfo,
    since: datetime,
    until: datetime,
    *,
    opened_on: date | None = None,
    closed_on: date | None = None,
) -> Iterator[WorkingUse]:
    """Give every use whose [start, end) overlaps [since, until), by day and start; lazily, so `until` may be far.

    Without a calendar every day is worked as a whole. The site works from `opened_on` to `closed_on`, both included.
    """
    plan = _plan(calendar or EVERY_DAY)
    if not plan.weekdays or since >= min(until, LAST_INSTANT):
        return
    day = local_day(max(since, FIRST_INSTANT), zone) - plan.reach
    day = day if opened_on is None else max(day, opened_on)
    last = min(LAST_DAY if until >= LAST_INSTANT else local_day(until, zone), closed_on or LAST_DAY)
    while day <= last:
        for use in _uses(plan, day, zone):
            if use.start < until and use.end > since:
                yield use
        day += DAY


def site_uses(site: SiteDefined, zone: ZoneInfo, since: datetime, until: datetime) -> Iterator[WorkingUse]:
    """Give the uses of a site as one version defines it."""
    return working_uses(site.calendar, zone, since, until, opened_on=site.opened_on, closed_on=site.closed_on)


class _Plan:
    """A calendar made ready: equal only to itself, so that its days are kept cheaply.

    `reach` is how many days before a moment a shift may have started that still lasts.
    """

    __slots__ = ("closed", "reach", "shifts", "weekdays")

    def __init__(self, calendar: Calendar) -> None:
        self.weekdays = frozenset(map(WEEKDAYS.index, calendar.working_days))
        self.closed = tuple((closing.from_, closing.to) for closing in calendar.closed)
        self.shifts = calendar.shifts
        self.reach = max((_longest(shift.lasts) for shift in calendar.shifts), default=DAY)

    def works(self, day: date) -> bool:
        """Say whether a day is worked."""
        return day.weekday() in self.weekdays and not any(first <= day <= last for first, last in self.closed)


@lru_cache(maxsize=4096)
def _plan(calendar: Calendar) -> _Plan:
    return _Plan(calendar)


def _longest(lasts: str) -> timedelta:
    period = Period.parse(lasts)
    return timedelta(days=31 * period.whole_months + period.whole_days + 1 + period.clock.days)


@lru_cache(maxsize=32768)
def _uses(plan: _Plan, day: date, zone: ZoneInfo) -> tuple[WorkingUse, ...]:
    start, end = day_start(day, zone), day_end(day, zone)
    if start == end or not plan.works(day):  # a day that the zone leaves out is as long as nothing
        return ()
    if not plan.shifts:
        return (WorkingUse(day, None, start, end),)
    shifts = [WorkingUse(day, shift.name, *_bounds(day, shift, zone)) for shift in plan.shifts]
    lasting = (use for use in shifts if use.start < use.end)  # clocks may skip all of a short one
    return tuple(sorted(lasting, key=lambda use: (use.start, use.shift)))


def _bounds(day: date, shift: Shift, zone: ZoneInfo) -> tuple[datetime, datetime]:
    period, clock = Period.parse(shift.lasts), time.fromisoformat(shift.starts)
    end = datetime.combine(months_from(day, period.whole_months), clock) + timedelta(days=period.whole_days)
    return at_wall(datetime.combine(day, clock), zone), at_wall(end + period.clock, zone)
