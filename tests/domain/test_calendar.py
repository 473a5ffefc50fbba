"""Local days against python-dateutil's time zones, over many zones, dates and clock changes."""

import sys
import zoneinfo
from datetime import UTC, date, datetime, time, timedelta
from functools import cache
from importlib.resources import files
from io import BytesIO
from itertools import pairwise

import pytest
from dateutil import tz
from dateutil.relativedelta import relativedelta
from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain import calendar
from service.domain.period import Period

ZONES = [
    "UTC",
    "Europe/London",
    "Europe/Berlin",
    "America/New_York",
    "America/Los_Angeles",
    "America/Phoenix",
    "America/St_Johns",
    "America/Goose_Bay",  # clocks went back at 00:01, over midnight, until 2011
    "America/Toronto",  # skipped 23:30 to 00:30 in 1919
    "America/Sao_Paulo",  # midnight skipped until 2018
    "America/Havana",  # midnight skipped, and shown twice
    "Asia/Beirut",  # midnight skipped
    "Asia/Kolkata",
    "Asia/Kathmandu",
    "Australia/Adelaide",
    "Australia/Lord_Howe",  # clocks change by half an hour
    "Pacific/Apia",  # left out 30 December 2011
    "Pacific/Kiritimati",  # left out 31 December 1994
    "Africa/Casablanca",
    "Antarctica/Troll",  # clocks change by two hours
]
INSTANTS = st.datetimes(datetime(1971, 1, 1), datetime(2036, 12, 31), timezones=st.just(UTC))  # noqa: DTZ001 -- hypothesis adds the zone
DAYS = st.dates(date(1971, 1, 1), date(2036, 12, 31))
EVERY_ZONE = st.sampled_from(sorted(calendar.zone_names()))


@cache
def reference(name: str) -> tz.tzfile:
    """Let dateutil read the same file of the package."""
    content = files("tzdata.zoneinfo").joinpath(*name.split("/")).read_bytes()
    return tz.tzfile(BytesIO(content), name)


def utc(year: int, month: int, day: int, hour: int = 0, minute: int = 0, second: int = 0) -> datetime:
    """Spell an instant."""
    return datetime(year, month, day, hour, minute, second, tzinfo=UTC)


def days_of(*years: int) -> list[date]:
    """List every day of some years."""
    days = (date(year, 1, 1) + timedelta(days=count) for year in years for count in range(366))
    return [day for day in days if day.year in years]


def midnight(day: date, name: str) -> datetime:
    """Let dateutil say which instant the first midnight of a day is, one skipped moved on by the gap."""
    return tz.resolve_imaginary(datetime.combine(day, time(), reference(name))).astimezone(UTC)


@pytest.mark.parametrize(
    ("name", "day", "start", "end"),
    [
        ("UTC", date(2026, 3, 2), utc(2026, 3, 2), utc(2026, 3, 3)),
        ("Europe/London", date(2026, 3, 29), utc(2026, 3, 29), utc(2026, 3, 29, 23)),
        ("Europe/London", date(2026, 10, 25), utc(2026, 10, 24, 23), utc(2026, 10, 26)),
        ("America/New_York", date(2026, 3, 8), utc(2026, 3, 8, 5), utc(2026, 3, 9, 4)),
        ("America/New_York", date(2026, 11, 1), utc(2026, 11, 1, 4), utc(2026, 11, 2, 5)),
        ("America/Sao_Paulo", date(2018, 11, 4), utc(2018, 11, 4, 3), utc(2018, 11, 5, 2)),
        ("America/Havana", date(2024, 11, 3), utc(2024, 11, 3, 4), utc(2024, 11, 4, 5)),
        ("Asia/Beirut", date(2022, 3, 27), utc(2022, 3, 26, 22), utc(2022, 3, 27, 21)),
        ("America/Toronto", date(1919, 3, 31), utc(1919, 3, 31, 4, 30), utc(1919, 4, 1, 4)),
        ("Pacific/Apia", date(2011, 12, 29), utc(2011, 12, 29, 10), utc(2011, 12, 30, 10)),
        ("Pacific/Apia", date(2011, 12, 30), utc(2011, 12, 30, 10), utc(2011, 12, 30, 10)),
        ("Pacific/Apia", date(2011, 12, 31), utc(2011, 12, 30, 10), utc(2011, 12, 31, 10)),
        ("America/Goose_Bay", date(2010, 11, 7), utc(2010, 11, 7, 3), utc(2010, 11, 8, 4)),
    ],
)
def test_spelled_out(name: str, day: date, start: datetime, end: datetime) -> None:
    """A day has 23, 24 or 25 hours, and starts after a skipped midnight or at the first of two."""
    assert calendar.day_start(day, calendar.zone(name)) == start
    assert calendar.day_end(day, calendar.zone(name)) == end


def test_hour_that_comes_again_belongs_to_the_day_begun() -> None:
    """Where clocks go back over midnight, a day once begun stays begun."""
    goose_bay = calendar.zone("America/Goose_Bay")
    assert calendar.local_day(utc(2010, 11, 7, 2, 59, 59), goose_bay) == date(2010, 11, 6)
    assert calendar.local_day(utc(2010, 11, 7, 3, 0, 30), goose_bay) == date(2010, 11, 7)
    assert utc(2010, 11, 7, 3, 30).astimezone(goose_bay).isoformat() == "2010-11-06T23:30:00-04:00"
    assert calendar.local_day(utc(2010, 11, 7, 3, 30), goose_bay) == date(2010, 11, 7)
    assert calendar.local_day(utc(2010, 11, 7, 4), goose_bay) == date(2010, 11, 7)


@pytest.mark.parametrize("name", ZONES)
def test_every_day_of_nine_years_agrees_with_dateutil(name: str) -> None:
    """Each day starts at dateutil's midnight; where that is skipped, at the first instant after the gap."""
    zone = calendar.zone(name)
    for day in days_of(1990, 1995, 2006, 2010, 2011, 2018, 2024, 2026, 2029):
        start = calendar.day_start(day, zone)
        if tz.datetime_exists(datetime.combine(day, time(), reference(name))):
            assert start == midnight(day, name), day
        else:
            assert start <= midnight(day, name), day
            assert (start - timedelta(microseconds=1)).astimezone(reference(name)).date() < day
            assert start.astimezone(reference(name)).date() >= day


@settings(deadline=None)
@given(name=EVERY_ZONE, day=DAYS)
def test_a_day_starts_at_its_first_instant(name: str, day: date) -> None:
    """Just before its start no day has begun by dateutil's clock, and at its start it has."""
    start = calendar.day_start(day, calendar.zone(name))
    assert start.astimezone(reference(name)).date() >= day
    assert (start - timedelta(microseconds=1)).astimezone(reference(name)).date() < day


@settings(deadline=None)
@given(name=EVERY_ZONE, instant=INSTANTS)
def test_every_instant_lies_in_one_day(name: str, instant: datetime) -> None:
    """An instant lies in its local day: from the start, and before the end."""
    zone = calendar.zone(name)
    day = calendar.local_day(instant, zone)
    assert calendar.day_start(day, zone) <= instant < calendar.day_end(day, zone)


@settings(deadline=None)
@given(name=EVERY_ZONE, instant=INSTANTS)
def test_local_day_agrees_with_dateutil(name: str, instant: datetime) -> None:
    """The local day is the date on dateutil's clock, but in an hour that comes again after midnight."""
    local = instant.astimezone(reference(name))
    if not (tz.datetime_ambiguous(local) and local.hour >= 22):
        assert calendar.local_day(instant, calendar.zone(name)) == local.date()


@pytest.mark.parametrize("name", ZONES)
def test_days_tile_time(name: str) -> None:
    """Days follow each other without gap or overlap, also in years of odd clock changes."""
    zone = calendar.zone(name)
    for day, following in pairwise(days_of(1919, 1994, 2010, 2011, 2026)):
        if following - day == timedelta(days=1):
            assert calendar.day_end(day, zone) == calendar.day_start(following, zone)
            assert calendar.day_start(day, zone) <= calendar.day_end(day, zone)


@settings(deadline=None)
@given(name=EVERY_ZONE, instant=INSTANTS)
def test_month_start_agrees_with_dateutil(name: str, instant: datetime) -> None:
    """The month of an instant starts at the midnight that relativedelta names, where that midnight exists."""
    zone = calendar.zone(name)
    first = calendar.local_day(instant, zone) + relativedelta(day=1)
    if tz.datetime_exists(datetime.combine(first, time(), reference(name))):
        assert calendar.month_start(instant, zone) == midnight(first, name)
    assert calendar.month_start(instant, zone) <= instant


def test_month_start_by_local_date() -> None:
    """A month starts by the local date: 23:30 UTC on 31 May is 1 June in London."""
    assert calendar.month_start(utc(2026, 5, 31, 23, 30), calendar.zone("Europe/London")) == utc(2026, 5, 31, 23)
    assert calendar.month_start(utc(2026, 5, 31, 23, 30), calendar.zone("UTC")) == utc(2026, 5, 1)


@pytest.mark.parametrize(
    ("name", "instant", "period", "earlier"),
    [
        ("UTC", utc(2026, 3, 29), "P7D", utc(2026, 3, 22)),
        ("Europe/London", utc(2026, 3, 29, 23), "P7D", utc(2026, 3, 23)),  # R50: in local time, over the change
        ("Europe/London", utc(2026, 3, 29, 23), "P0D", utc(2026, 3, 29, 23)),
        ("Europe/London", utc(2026, 10, 26), "P7D", utc(2026, 10, 18, 23)),
        ("Europe/London", utc(2026, 3, 31, 23), "P1M", utc(2026, 3, 1)),
        ("UTC", utc(2026, 3, 31), "P1M", utc(2026, 2, 28)),
        ("UTC", utc(2026, 3, 31), "PT36H", utc(2026, 3, 29, 12)),
        ("Europe/London", utc(2026, 3, 29, 1), "PT30M", utc(2026, 3, 29, 1)),  # 01:30 is skipped and moves on
        ("Europe/London", utc(2026, 10, 25, 1, 30), "P0D", utc(2026, 10, 25, 1, 30)),  # the second 01:30
        ("Europe/London", utc(2026, 11, 1, 1, 30), "P7D", utc(2026, 10, 25, 0, 30)),  # of the two 01:30 the first
    ],
)
def test_before(name: str, instant: datetime, period: str, earlier: datetime) -> None:
    """A period earlier is counted on the local wall, and never later."""
    assert calendar.before(instant, Period.parse(period), calendar.zone(name)) == earlier


@settings(deadline=None)
@given(name=EVERY_ZONE, instant=INSTANTS, days=st.integers(1, 60), months=st.integers(0, 14))
def test_before_agrees_with_dateutil(name: str, instant: datetime, days: int, months: int) -> None:
    """Some months and days earlier is what relativedelta says on dateutil's wall."""
    wall = instant.astimezone(reference(name)).replace(tzinfo=None) - relativedelta(months=months)
    expected = tz.resolve_imaginary((wall - timedelta(days=days)).replace(tzinfo=reference(name), fold=0))
    found = calendar.before(instant, Period(months=months, days=days), calendar.zone(name))
    assert found == min(instant, expected.astimezone(UTC))


@pytest.mark.parametrize(
    "name", ["", "Mars/Olympus", "europe/london", "Europe", "../../etc/passwd", "Europe/London\0", "/UTC"]
)
def test_no_zone(name: str) -> None:
    """Only a name of the package's list is a zone."""
    with pytest.raises(ValueError, match="no time zone of the IANA database") as refused:
        calendar.zone(name)
    assert str(refused.value) == (
        f"{name!r} is no time zone of the IANA database (tzdata {calendar.TZDATA_VERSION}), such as Europe/London"
    )


def test_every_zone_loads() -> None:
    """Each name of the package's list gives a zone of that name."""
    assert {str(calendar.zone(name)) for name in calendar.zone_names()} == calendar.zone_names()


def test_no_global_setting_is_touched() -> None:
    """The search path of the running program stays as it was."""
    assert sys.modules["service.domain.calendar"] is calendar
    before = zoneinfo.TZPATH
    calendar.zone("Europe/Paris")
    assert before == zoneinfo.TZPATH
