"""Days, zones and periods, by the plainest arithmetic."""

import calendar
import re
import zoneinfo
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from functools import cache

zoneinfo.reset_tzpath(to=())  # the tzdata package alone, as the service promises

PERIOD = re.compile(
    r"P(?:(\d+)Y)?(?:(\d+)M)?(?:(\d+)W)?(?:(\d+)D)?(?:T(?:(\d+)H)?(?:(\d+)M)?(?:(\d+)S)?)?",
)


@dataclass(frozen=True)
class Span:
    """A period: calendar months, calendar days, and elapsed time."""

    months: int
    days: int
    rest: timedelta


@cache
def span(text: str) -> Span:
    """Read an ISO 8601 period."""
    found = PERIOD.fullmatch(text)
    if found is None:
        raise ValueError(text)
    years, months, weeks, days, hours, minutes, seconds = (int(part or 0) for part in found.groups())
    return Span(12 * years + months, 7 * weeks + days, timedelta(hours=hours, minutes=minutes, seconds=seconds))


def elapsed(text: str) -> timedelta:
    """Read a period of days and hours as elapsed time."""
    found = span(text)
    return timedelta(days=found.days) + found.rest


def months_on(day: date, months: int) -> date:
    """Give the same day-number some months on (or back), else the month's last day."""
    count = day.year * 12 + day.month - 1 + months
    year, month = divmod(count, 12)
    return date(year, month + 1, min(day.day, calendar.monthrange(year, month + 1)[1]))


def later_day(day: date, text: str) -> date:
    """Give the day one period after a day."""
    found = span(text)
    return months_on(day, found.months) + timedelta(days=found.days)


def instant(text: str) -> datetime:
    """Read an RFC 3339 instant with its offset."""
    return datetime.fromisoformat(text).astimezone(UTC)


def iso(at: datetime | None) -> str | None:
    """Write an instant in UTC with a Z."""
    return None if at is None else at.astimezone(UTC).isoformat().replace("+00:00", "Z")


@cache
def zone(name: str) -> zoneinfo.ZoneInfo:
    """Load a time zone by name."""
    return zoneinfo.ZoneInfo(name)


def later(wall: datetime, text: str) -> datetime:
    """Give what a clock on the wall shows one period later, if nobody touches it."""
    found = span(text)
    return datetime.combine(months_on(wall.date(), found.months), wall.time()) + timedelta(days=found.days) + found.rest


def on_the_wall(wall: datetime, name: str) -> datetime:
    """Give the instant at which the clocks of a zone show a time, for the first time."""
    return wall.replace(tzinfo=zone(name)).astimezone(UTC)


def local(day: date, clock: time, name: str) -> datetime:
    """Give the instant at which a local clock shows a time on a day."""
    return datetime.combine(day, clock, zone(name)).astimezone(UTC)


def day_start(day: date, name: str) -> datetime:
    """Give the instant at which a local day starts."""
    return local(day, time(), name)


def day_end(day: date, name: str) -> datetime:
    """Give the instant at which a local day has ended, which no longer belongs to it."""
    return day_start(day + timedelta(days=1), name)


def local_day(at: datetime, name: str) -> date:
    """Give the local calendar day of an instant."""
    return at.astimezone(zone(name)).date()


def before_day_end(day: date, text: str, name: str) -> datetime:
    """Give the instant that lies a period, in local time, before the end of a day."""
    found = span(text)
    start = months_on(day + timedelta(days=1), -found.months) - timedelta(days=found.days)
    clock = datetime.combine(start, time()) - found.rest
    return clock.replace(tzinfo=zone(name)).astimezone(UTC)


def expiry_first(text: str) -> date:
    """Give the first day that an expiry may be: of a month its first."""
    return date.fromisoformat(text if len(text) > 7 else f"{text}-01")


def expiry_day(text: str) -> date:
    """Give the last day of an expiry: a date, or a month to its last day."""
    if len(text) == len("2026-03"):
        year, month = int(text[:4]), int(text[5:])
        return date(year, month, calendar.monthrange(year, month)[1])
    return date.fromisoformat(text)
