"""Days of a place: where a local day begins and ends as instants.

Zones come from the pinned `tzdata` package alone; the zone files of the system are ignored and no global setting is
touched. Reading one is like importing a table of that package. What may live here: zones and local days.
"""

from datetime import UTC, date, datetime, time, timedelta
from functools import cache, lru_cache
from importlib.metadata import version
from importlib.resources import files
from zoneinfo import ZoneInfo

from service.domain.period import Period, months_from

TZDATA_VERSION = version("tzdata")

DAY = timedelta(days=1)
SECOND = timedelta(seconds=1)
MIDNIGHT = time()


@cache
def zone_names() -> frozenset[str]:
    """Name every zone of the package."""
    return frozenset(files("tzdata").joinpath("zones").read_text("ascii").split())


@cache
def zone(name: str) -> ZoneInfo:
    """Give a time zone of the package by its name; any other name is a ValueError."""
    if name not in zone_names():
        message = f"{name!r} is no time zone of the IANA database (tzdata {TZDATA_VERSION}), such as Europe/London"
        raise ValueError(message)
    with files("tzdata.zoneinfo").joinpath(*name.split("/")).open("rb") as file:
        return ZoneInfo.from_file(file, key=name)


def at_wall(wall: datetime, zone: ZoneInfo) -> datetime:
    """Give the instant at which clocks on the wall show a naive time.

    Of a time shown twice the first; one skipped counts on from the old offset (RFC 5545 section 3.3.5), so that 02:30
    in a gap of an hour is 03:30.
    """
    return wall.replace(tzinfo=zone).astimezone(UTC)


@lru_cache(maxsize=65536)
def day_start(day: date, zone: ZoneInfo) -> datetime:
    """Give the first instant of a local day, also where its midnight is skipped or shown twice.

    A day that a zone leaves out (Apia, 30 December 2011) starts and ends with the day after it.
    """
    midnight = datetime.combine(day, MIDNIGHT)
    instant = at_wall(midnight, zone)
    if instant.astimezone(zone).replace(tzinfo=None) == midnight:
        return instant
    return _gap_end(day, zone, midnight.replace(fold=1, tzinfo=zone).astimezone(UTC), instant)


def _gap_end(day: date, zone: ZoneInfo, before: datetime, after: datetime) -> datetime:
    """Give the first whole second in (before, after] at which it is that day or later."""
    while after - before > SECOND:
        middle = before + (after - before) // SECOND // 2 * SECOND
        if middle.astimezone(zone).date() >= day:
            after = middle
        else:
            before = middle
    return after


def day_end(day: date, zone: ZoneInfo) -> datetime:
    """Give the instant at which a local day is over: the start of the next, which no longer belongs to it."""
    return day_start(day + DAY, zone)


def local_day(instant: datetime, zone: ZoneInfo) -> date:
    """Give the local day an instant lies in: day_start(day) <= instant < day_end(day).

    Where clocks go back over midnight (St John's, until 2011) the hour before it comes again after the next day has
    begun; a day once begun stays begun.
    """
    local = instant.astimezone(zone)
    day = local.date()
    if local.fold and instant >= day_end(day, zone):
        return day + DAY
    return day


def month_start(instant: datetime, zone: ZoneInfo) -> datetime:
    """Give the first instant of the local month an instant lies in."""
    return day_start(local_day(instant, zone).replace(day=1), zone)


@lru_cache(maxsize=65536)
def before(instant: datetime, period: Period, zone: ZoneInfo) -> datetime:
    """Give the instant a period earlier in local time: months first, then days, then hours, on the wall's clock."""
    if period.is_zero:
        return instant
    local = instant.astimezone(zone).replace(tzinfo=None, fold=0)
    day = months_from(local.date(), -period.whole_months) - timedelta(days=period.whole_days)
    return min(instant, at_wall(datetime.combine(day, local.time()) - period.clock, zone))
