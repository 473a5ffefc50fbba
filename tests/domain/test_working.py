"""Working days and shifts against python-dateutil's recurrence rules (rrule) and time zones."""

from collections.abc import Sequence
from datetime import UTC, date, datetime, time, timedelta
from functools import cache
from importlib.resources import files
from io import BytesIO
from itertools import islice

import msgspec
import pytest
from dateutil import rrule, tz
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from service.domain.calendar import zone
from service.domain.kinds.site_defined import Calendar, Closing, Shift, SiteDefined, Weekday
from service.domain.working import EVERY_DAY, LAST_INSTANT, WEEKDAYS, WorkingUse, site_uses, working_uses

MONDAY_TO_FRIDAY: tuple[Weekday, ...] = ("mon", "tue", "wed", "thu", "fri")
DAY = Shift(name="day", starts="06:00", lasts="PT8H")
NIGHT = Shift(name="night", starts="22:00", lasts="PT8H")
ZONES = ["UTC", "Europe/London", "America/Chicago", "America/St_Johns", "Australia/Lord_Howe", "Asia/Kolkata"]


@cache
def reference(name: str) -> tz.tzfile:
    """Let dateutil read the same file of the package."""
    content = files("tzdata.zoneinfo").joinpath(*name.split("/")).read_bytes()
    return tz.tzfile(BytesIO(content), name)


def utc(*parts: int) -> datetime:
    """Spell an instant."""
    year, month, day, hour, minute = (*parts, 0, 0)[:5]
    return datetime(year, month, day, hour, minute, tzinfo=UTC)


def uses(calendar: Calendar | None, name: str, since: datetime, until: datetime) -> list[WorkingUse]:
    """List the uses of a calendar."""
    return list(working_uses(calendar, zone(name), since, until))


def site(calendar: Calendar, opened: date | None = None, closed: date | None = None) -> SiteDefined:
    """Give an invented site."""
    example = {**SiteDefined.example, "calendar": {"working_days": ["mon"]}}
    found = msgspec.convert(example, SiteDefined)
    return replace(found, calendar=calendar, opened_on=opened, closed_on=closed)


def test_whole_days() -> None:
    """Without shifts a working day is one use, from its start to its end: 23 hours where clocks go forward."""
    found = uses(Calendar(working_days=("sat", "sun")), "Europe/London", utc(2026, 3, 27), utc(2026, 4, 4))
    assert found == [
        WorkingUse(date(2026, 3, 28), None, utc(2026, 3, 28), utc(2026, 3, 29)),
        WorkingUse(date(2026, 3, 29), None, utc(2026, 3, 29), utc(2026, 3, 29, 23)),
        WorkingUse(date(2026, 4, 4), None, utc(2026, 4, 3, 23), utc(2026, 4, 4, 23)),
    ]


def test_shift_over_midnight() -> None:
    """A night shift belongs to the day it starts on, and is found from a moment after midnight."""
    calendar = Calendar(working_days=MONDAY_TO_FRIDAY, shifts=(NIGHT, DAY))
    found = uses(calendar, "UTC", utc(2026, 3, 3, 2), utc(2026, 3, 3, 22, 30))
    assert found == [
        WorkingUse(date(2026, 3, 2), "night", utc(2026, 3, 2, 22), utc(2026, 3, 3, 6)),
        WorkingUse(date(2026, 3, 3), "day", utc(2026, 3, 3, 6), utc(2026, 3, 3, 14)),
        WorkingUse(date(2026, 3, 3), "night", utc(2026, 3, 3, 22), utc(2026, 3, 4, 6)),
    ]


def test_half_open() -> None:
    """A use that ends as the stretch begins, or starts as it ends, is not in it."""
    calendar = Calendar(working_days=MONDAY_TO_FRIDAY, shifts=(DAY,))
    assert uses(calendar, "UTC", utc(2026, 3, 2, 14), utc(2026, 3, 3, 6)) == []
    assert len(uses(calendar, "UTC", utc(2026, 3, 2, 13, 59), utc(2026, 3, 3, 6))) == 1
    assert uses(calendar, "UTC", utc(2026, 3, 2, 8), utc(2026, 3, 2, 8)) == []


@pytest.mark.parametrize(
    ("day", "start", "end", "hours"),
    [
        (date(2026, 3, 28), utc(2026, 3, 28, 22), utc(2026, 3, 29, 5), 7),  # clocks go forward in the night
        (date(2026, 10, 24), utc(2026, 10, 24, 21), utc(2026, 10, 25, 6), 9),  # clocks go back in the night
        (date(2026, 6, 1), utc(2026, 6, 1, 21), utc(2026, 6, 2, 5), 8),
    ],
)
def test_night_of_a_clock_change(day: date, start: datetime, end: datetime, hours: int) -> None:
    """A night shift ends by the wall clock, so that it has 7 or 9 hours where the clocks change."""
    calendar = Calendar(working_days=WEEKDAYS, shifts=(NIGHT,))
    found = [use for use in uses(calendar, "Europe/London", start, end) if use.day == day]
    assert found == [WorkingUse(day, "night", start, end)]
    assert end - start == timedelta(hours=hours)


@pytest.mark.parametrize(
    ("starts", "lasts", "start", "end"),
    [
        ("01:30", "PT8H", utc(2026, 3, 29, 1, 30), utc(2026, 3, 29, 8, 30)),  # 01:30 is skipped: 02:30 on the wall
        ("00:30", "PT1H30M", utc(2026, 3, 29, 0, 30), utc(2026, 3, 29, 1)),
    ],
)
def test_shift_at_a_gap(starts: str, lasts: str, start: datetime, end: datetime) -> None:
    """A start that the clocks skip moves on by the gap."""
    calendar = Calendar(working_days=WEEKDAYS, shifts=(Shift(name="a", starts=starts, lasts=lasts),))
    found = uses(calendar, "Europe/London", utc(2026, 3, 29), utc(2026, 3, 29, 23))
    assert [(use.start, use.end) for use in found if use.day == date(2026, 3, 29)] == [(start, end)]


@pytest.mark.parametrize("lasts", ["PT50M", "PT1H"])
def test_shift_that_the_clocks_skip(lasts: str) -> None:
    """A shift of which the clocks leave nothing is no use: 01:20 is 02:20, and by 02:20 it was over."""
    calendar = Calendar(working_days=WEEKDAYS, shifts=(Shift(name="a", starts="01:20", lasts=lasts),))
    found = uses(calendar, "Europe/London", utc(2026, 3, 28, 12), utc(2026, 3, 29, 23))
    assert found == []


@pytest.mark.parametrize(
    ("lasts", "end"),
    [
        ("P1DT2H", utc(2026, 3, 3, 8)),
        ("P3D", utc(2026, 3, 5, 6)),
        ("PT60H", utc(2026, 3, 4, 18)),
        ("P1M1D", utc(2026, 4, 3, 6)),
    ],
)
def test_shift_of_several_days(lasts: str, end: datetime) -> None:
    """A shift of days is found until its end, also beside a shorter one."""
    shifts = (Shift(name="long", starts="06:00", lasts=lasts), Shift(name="short", starts="07:00", lasts="PT1H"))
    calendar = Calendar(working_days=("mon",), shifts=shifts)
    last = end - timedelta(microseconds=1)
    expected = WorkingUse(date(2026, 3, 2), "long", utc(2026, 3, 2, 6), end)
    assert expected in uses(calendar, "UTC", last, end)
    assert expected not in uses(calendar, "UTC", end, end + timedelta(minutes=1))


def test_day_that_the_zone_leaves_out() -> None:
    """A day that a zone leaves out has no use, with shifts or without."""
    left_out = date(2011, 12, 30)
    for shifts in ((), (DAY, NIGHT)):
        calendar = Calendar(working_days=WEEKDAYS, shifts=shifts)
        found = uses(calendar, "Pacific/Apia", utc(2011, 12, 28), utc(2012, 1, 2))
        assert left_out not in {use.day for use in found}
        assert date(2011, 12, 31) in {use.day for use in found}


def test_closings() -> None:
    """Both ends of a closing are closed."""
    calendar = Calendar(
        working_days=WEEKDAYS, closed=(Closing(from_=date(2026, 12, 24), to=date(2026, 12, 26)),), shifts=()
    )
    found = uses(calendar, "UTC", utc(2026, 12, 23), utc(2026, 12, 28))
    assert [use.day for use in found] == [date(2026, 12, 23), date(2026, 12, 27)]


def test_night_into_a_closing() -> None:
    """A night shift that started before a closing runs on into it."""
    closed = (Closing(from_=date(2026, 12, 24), to=date(2026, 12, 26)),)
    calendar = Calendar(working_days=WEEKDAYS, closed=closed, shifts=(NIGHT,))
    found = uses(calendar, "UTC", utc(2026, 12, 24), utc(2026, 12, 27))
    assert found == [WorkingUse(date(2026, 12, 23), "night", utc(2026, 12, 23, 22), utc(2026, 12, 24, 6))]


def test_opened_and_closed() -> None:
    """A site works from the day it opens to the day it closes, both included."""
    open_for_three = site(EVERY_DAY, date(2026, 3, 3), date(2026, 3, 5))
    found = list(site_uses(open_for_three, zone("UTC"), utc(2026, 1, 1), utc(2027, 1, 1)))
    assert [use.day for use in found] == [date(2026, 3, 3), date(2026, 3, 4), date(2026, 3, 5)]


def test_without_a_calendar() -> None:
    """Without a calendar every day is worked as a whole."""
    found = uses(None, "UTC", utc(2026, 3, 6), utc(2026, 3, 9))
    assert [use.day for use in found] == [date(2026, 3, 6), date(2026, 3, 7), date(2026, 3, 8)]


def test_nobody_works() -> None:
    """No working day, no use, however far one looks."""
    assert uses(Calendar(working_days=()), "UTC", utc(2026, 1, 1), LAST_INSTANT) == []


@pytest.mark.parametrize("shifts", [(), (DAY, NIGHT)])
def test_looks_no_further_than_asked(shifts: tuple[Shift, ...]) -> None:
    """Uses come one by one, so that the end may be as far as time goes, and the beginning too."""
    calendar = Calendar(working_days=("wed",), shifts=shifts)
    found = working_uses(calendar, zone("America/Chicago"), utc(2026, 1, 1, 12), datetime.max.replace(tzinfo=UTC))
    assert next(found).day == date(2026, 1, 7)
    long_ago = working_uses(calendar, zone("America/Chicago"), datetime(1, 1, 2, tzinfo=UTC), LAST_INSTANT)
    assert next(long_ago).day.year == 1890
    last = list(working_uses(EVERY_DAY, zone("America/Chicago"), utc(9999, 12, 27), datetime.max.replace(tzinfo=UTC)))
    assert last[-1].day <= date(9999, 12, 30)
    assert list(working_uses(calendar, zone("UTC"), LAST_INSTANT, datetime.max.replace(tzinfo=UTC))) == []


def by_dateutil(calendar: Calendar, name: str, first: date, last: date) -> list[WorkingUse]:
    """Let rrule say on which days the shifts start, and dateutil's zone at which instants."""
    weekdays = [WEEKDAYS.index(day) for day in calendar.working_days]
    noon = rrule.rrule(
        rrule.DAILY, dtstart=datetime.combine(first, time()), until=datetime.combine(last, time()), byweekday=weekdays
    )
    rules = rrule.rruleset()
    rules.rrule(noon)
    for closing in calendar.closed:
        start, end = datetime.combine(closing.from_, time()), datetime.combine(closing.to, time())
        rules.exrule(rrule.rrule(rrule.DAILY, dtstart=start, until=end))
    found = [use for day in rules for use in uses_of(calendar.shifts, day, reference(name))]
    return sorted(found, key=lambda use: (use.day, use.start, use.shift or ""))


def uses_of(shifts: Sequence[Shift], day: datetime, place: tz.tzfile) -> list[WorkingUse]:
    """Place the shifts of a day on dateutil's wall, or the whole day."""

    def instant(wall: datetime) -> datetime:
        return tz.resolve_imaginary(wall.replace(tzinfo=place)).astimezone(UTC)

    if not shifts:
        return [WorkingUse(day.date(), None, instant(day), instant(day + timedelta(days=1)))]
    found = []
    for shift in shifts:
        starts = day + timedelta(hours=int(shift.starts[:2]), minutes=int(shift.starts[3:]))
        ends = starts + timedelta(hours=int(shift.lasts.removeprefix("PT").removesuffix("H")))
        found.append(WorkingUse(day.date(), shift.name, instant(starts), instant(ends)))
    return [use for use in found if use.start < use.end]


SHIFTS = st.lists(
    st.builds(
        Shift,
        name=st.sampled_from(["a", "b", "c"]),
        starts=st.builds(
            lambda hour, minute: f"{hour:02}:{minute:02}", st.integers(0, 23), st.sampled_from([0, 15, 30])
        ),
        lasts=st.integers(1, 24).map(lambda hours: f"PT{hours}H"),
    ),
    max_size=3,
    unique_by=lambda shift: shift.name,
)
CLOSINGS = st.builds(
    lambda start, days: Closing(from_=start, to=start + timedelta(days=days)),
    st.dates(date(2025, 1, 1), date(2026, 12, 31)),
    st.integers(0, 20),
)
CALENDARS = st.builds(
    Calendar,
    working_days=st.lists(st.sampled_from(WEEKDAYS), min_size=1, unique=True).map(tuple),
    closed=st.lists(CLOSINGS, max_size=3).map(tuple),
    shifts=SHIFTS.map(tuple),
)


@settings(deadline=None)
@given(
    calendar=CALENDARS,
    name=st.sampled_from(ZONES),
    since=st.datetimes(datetime(2025, 1, 1), datetime(2026, 12, 1), timezones=st.just(UTC)),  # noqa: DTZ001 -- hypothesis adds the zone
    length=st.timedeltas(timedelta(microseconds=1), timedelta(days=40)),
)
def test_uses_agree_with_dateutil(calendar: Calendar, name: str, since: datetime, length: timedelta) -> None:
    """Any calendar in any stretch has the uses that rrule and dateutil's zones give."""
    until = since + length
    expected = by_dateutil(calendar, name, since.date() - timedelta(days=4), until.date() + timedelta(days=2))
    assert uses(calendar, name, since, until) == [u for u in expected if u.start < until and u.end > since]


@pytest.mark.parametrize("name", ZONES)
def test_two_years_of_shifts_agree_with_dateutil(name: str) -> None:
    """Two years of three shifts, over every clock change, are what rrule and dateutil's zones give."""
    late = Shift(name="late", starts="14:00", lasts="PT8H")
    closed = (Closing(from_=date(2026, 8, 3), to=date(2026, 8, 16)),)
    calendar = Calendar(working_days=WEEKDAYS, closed=closed, shifts=(DAY, late, NIGHT))
    expected = by_dateutil(calendar, name, date(2025, 1, 1), date(2026, 12, 31))
    found = uses(calendar, name, expected[0].start, expected[-1].end)
    assert [use for use in found if date(2025, 1, 1) <= use.day <= date(2026, 12, 31)] == expected
    assert len(expected) == 3 * (365 + 365 - 14)


def test_first_uses_are_given_before_the_rest() -> None:
    """A caller may stop after the first few."""
    found = islice(working_uses(EVERY_DAY, zone("UTC"), utc(2026, 1, 1), LAST_INSTANT), 3)
    assert [use.day.day for use in found] == [1, 2, 3]
