"""Days and moments at a site: which days it works, and what its clock shows."""

from datetime import date, datetime, time, timedelta, timezone
from functools import cache
from zoneinfo import ZoneInfo

from seed.sites import WEEK, Site, closures


@cache
def is_working(site: Site, day: date) -> bool:
    """Say whether the site works on a day: one of its weekdays and in none of its closures."""
    if WEEK[day.weekday()] not in site.working_days:
        return False
    return not any(first <= day <= last for first, last in closures(site, day.year))


def working_on_or_before(site: Site, day: date) -> date:
    """Go back from a day to the nearest working day."""
    while not is_working(site, day):
        day -= timedelta(days=1)
    return day


def working_after(site: Site, day: date, count: int = 1) -> date:
    """Go `count` working days on from a day, which is not counted itself."""
    while count:
        day += timedelta(days=1)
        count -= is_working(site, day)
    return day


@cache
def midnight(site: Site, day: date) -> datetime:
    """Give the local midnight that the minutes of a day count from, at the offset the day has at noon."""
    noon = datetime.combine(day, time(12), ZoneInfo(site.zone))
    return datetime.combine(day, time(0), timezone(noon.utcoffset() or timedelta()))


def moment(site: Site, day: date, minute: float) -> datetime:
    """Give the moment `minute` minutes after local midnight, cut to the second; not for the night of a clock change."""
    return midnight(site, day) + timedelta(seconds=int(minute * 60))


def month_after(day: date) -> date:
    """Give the same day-number one month later, else the month's last day."""
    first = (day.replace(day=1) + timedelta(days=32)).replace(day=1)
    last = (first + timedelta(days=32)).replace(day=1) - timedelta(days=1)
    return first.replace(day=min(day.day, last.day))


def year_before(day: date) -> date:
    """Give the same day of the year before; 29 February gives the 28th."""
    return day.replace(year=day.year - 1, day=28) if (day.month, day.day) == (2, 29) else day.replace(year=day.year - 1)
