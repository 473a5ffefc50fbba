"""Periods against python-dateutil's relativedelta, the reference library for calendar arithmetic."""

from datetime import date, timedelta

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain.period import Period, add, longer, months_from
from service.domain.words import PERIOD_PATTERN

DATES = st.dates(date(1900, 1, 1), date(2200, 12, 31))
PERIODS = st.builds(
    Period,
    years=st.integers(0, 20),
    months=st.integers(0, 40),
    weeks=st.integers(0, 60),
    days=st.integers(0, 400),
)
CLOCKED = st.builds(
    Period,
    years=st.integers(0, 100),
    months=st.integers(0, 1200),
    weeks=st.integers(0, 5200),
    days=st.integers(0, 36500),
    hours=st.integers(0, 1000),
    minutes=st.integers(0, 1000),
    seconds=st.integers(0, 1000),
)


def by_dateutil(day: date, period: Period) -> date:
    """Let relativedelta take the months, then the days."""
    return (
        day
        + relativedelta(years=period.years, months=period.months)
        + relativedelta(weeks=period.weeks, days=period.days)
    )


@pytest.mark.parametrize(
    ("day", "period", "end"),
    [
        (date(2026, 2, 28), "P1M", date(2026, 3, 28)),  # design 4: 28 February gives 28 March
        (date(2026, 1, 31), "P1M", date(2026, 2, 28)),  # design 4: else the month's last day
        (date(2028, 1, 31), "P1M", date(2028, 2, 29)),
        (date(2026, 11, 30), "P3M", date(2027, 2, 28)),
        (date(2028, 2, 29), "P1Y", date(2029, 2, 28)),
        (date(2026, 12, 31), "P1M", date(2027, 1, 31)),
        (date(2026, 3, 30), "P7D", date(2026, 4, 6)),
        (date(2026, 3, 30), "P1W", date(2026, 4, 6)),
        (date(2026, 1, 31), "P1M1D", date(2026, 3, 1)),
        (date(2026, 1, 31), "P0D", date(2026, 1, 31)),
    ],
)
def test_spelled_out(day: date, period: str, end: date) -> None:
    """A month later is the same day-number, else the month's last day; days count on from there."""
    assert add(day, Period.parse(period)) == end


@pytest.mark.parametrize("year", [1900, 1999, 2000, 2023, 2024, 2025, 2026, 2027, 2028, 2099, 2100, 2199])
def test_every_day_of_a_year(year: int) -> None:
    """One to twelve months from each day of a year, leap or not, are what relativedelta says."""
    day = date(year, 1, 1)
    while day.year == year:
        for months in range(1, 13):
            assert add(day, Period(months=months)) == day + relativedelta(months=months)
        day += timedelta(days=1)


@settings(deadline=None)
@given(day=DATES, period=PERIODS)
def test_add_agrees_with_dateutil(day: date, period: Period) -> None:
    """Any day and any period of years to days end where relativedelta ends."""
    assert add(day, period) == by_dateutil(day, period)


@settings(deadline=None)
@given(day=DATES, months=st.integers(-1000, 1000))
def test_months_run_both_ways(day: date, months: int) -> None:
    """Months forward and back end where relativedelta ends."""
    assert months_from(day, months) == day + relativedelta(months=months)


@settings(deadline=None)
@given(period=CLOCKED)
def test_written_and_read(period: Period) -> None:
    """A period written out is read as the same period."""
    assert Period.parse(str(period)) == period


@pytest.mark.parametrize(
    ("text", "period"),
    [
        ("P1M", Period(months=1)),
        ("PT12H", Period(hours=12)),
        ("PT5M", Period(minutes=5)),
        ("P1Y2M3W4DT5H6M7S", Period(years=1, months=2, weeks=3, days=4, hours=5, minutes=6, seconds=7)),
        ("P0D", Period()),
        ("PT0S", Period()),
        ("P007D", Period(days=7)),
    ],
)
def test_read(text: str, period: Period) -> None:
    """M before the T is months, after it minutes."""
    assert Period.parse(text) == period


@pytest.mark.parametrize(
    "text",
    [
        "", "P", "PT", "P1", "1M", "P1MT", "P-1M", "-P1M", "P1.5D", "P1,5D", "p1m", "P1M ", " P1M", "P1M\n", "P1D1M",
        "P1H", "PT1D", "P\u0661M", "P101Y", "P1201M", "P5201W", "P36501D", "PT876001H", "PT52560001M", "PT3153600001S",
        "P99999999999D", "P1M2M",
    ],
)  # fmt: skip
def test_not_read(text: str) -> None:
    """What is no period of whole numbers up to a hundred years is a ValueError."""
    with pytest.raises(ValueError, match=r"no period of ISO 8601|longer than a hundred years"):
        Period.parse(text)


@settings(deadline=None)
@given(text=st.from_regex(PERIOD_PATTERN))
def test_every_period_of_an_event_is_read(text: str) -> None:
    """What an event may state as a period is read, so that nothing recorded stops an answer."""
    assert text.startswith("P")
    assert Period.parse(text).is_zero == (not set(text) & set("123456789"))


def test_longest_read() -> None:
    """A hundred years is read, in each unit."""
    assert Period.parse("P100Y").whole_months == 1200
    assert Period.parse("P36500D").whole_days == 36500
    assert Period.parse("PT876000H").clock == timedelta(days=36500)


def test_elapsed() -> None:
    """Days have 24 hours where time elapses, weeks seven days; months have no such length."""
    assert Period.parse("PT12H").elapsed() == timedelta(hours=12)
    assert Period.parse("P1W1DT30M").elapsed() == timedelta(days=8, minutes=30)
    with pytest.raises(ValueError, match="P1M has no length in hours"):
        Period.parse("P1M").elapsed()


def test_no_date_for_hours() -> None:
    """A period with hours has no date for an answer."""
    with pytest.raises(ValueError, match="PT12H has hours"):
        add(date(2026, 1, 1), Period.parse("PT12H"))


@pytest.mark.parametrize(
    ("one", "other", "beyond"),
    [
        ("P1M", "P1M", False),
        ("P4W", "P1M", False),  # 28 days, and no month is shorter
        ("P29D", "P1M", True),  # from 1 February of a common year
        ("P30D", "P1M", True),
        ("P32D", "P1M", True),
        ("P2M", "P1M", True),
        ("P1M", "P4W", True),
        ("P1M", "P31D", False),
        ("P3M", "P3M", False),
        ("P89D", "P3M", False),  # 30 November to 28 February has 90, 1 February to 1 May 89
        ("P90D", "P3M", True),
        ("P92D", "P3M", True),
        ("P12M", "P1Y", False),
        ("P7D", "P1W", False),
        ("P1W", "P6DT23H59M", True),
        ("PT24H", "P1D", False),
        ("PT25H", "P1D", True),
        ("P365D", "P1Y", False),
        ("P366D", "P1Y", True),
        ("P4Y", "P1460D", True),
        ("P1460D", "P4Y", False),  # 1896 to 1900 and on to 1904 leaves out a leap day
    ],
)
def test_longer(one: str, other: str, beyond: bool) -> None:
    """A period is longer than another where it ends later from some day."""
    assert longer(Period.parse(one), Period.parse(other)) is beyond
    assert longer(Period.parse(one), Period.parse(one)) is False


@settings(deadline=None)
@given(day=DATES, one=PERIODS, other=PERIODS)
def test_never_later_than_what_it_is_not_longer_than(day: date, one: Period, other: Period) -> None:
    """A period that is not longer never ends later, by relativedelta."""
    if not longer(one, other):
        assert by_dateutil(day, one) <= by_dateutil(day, other)


@pytest.mark.parametrize(
    ("text", "zero"), [("P0D", True), ("PT0S", True), ("PT8H", False), ("P1M", False), ("P1D", False)]
)
def test_a_period_is_zero_without_months_days_and_hours(text: str, zero: bool) -> None:
    """Any of them gives it a length."""
    assert Period.parse(text).is_zero is zero
