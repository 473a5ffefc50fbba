from datetime import date

import pytest

from seed.days import is_working, moment, month_after, working_after, working_on_or_before, year_before
from seed.sites import SITES, weekday_of

SITE = {site.ref: site for site in SITES}


@pytest.mark.parametrize(
    ("site", "day", "works"),
    [
        ("harrow-dock", date(2026, 3, 2), True),
        ("harrow-dock", date(2026, 3, 7), False),
        ("harrow-dock", date(2026, 12, 24), False),
        ("harrow-dock", date(2026, 11, 26), True),
        ("cedar-flats", date(2026, 11, 26), False),
        ("cedar-flats", date(2026, 7, 3), True),
        ("copper-landing", date(2026, 3, 6), False),
    ],
)
def test_a_site_works_on_its_weekdays_but_not_in_its_closures(site: str, day: date, works: bool) -> None:
    """A site works on the weekdays of its calendar, unless a closure covers the day."""
    assert is_working(SITE[site], day) is works


def test_working_days_are_counted_over_a_weekend_and_a_closure() -> None:
    """One working day after Wednesday 23 December 2026 is Monday 4 January 2027, and back again."""
    assert working_after(SITE["callow-forge"], date(2026, 12, 23)) == date(2027, 1, 4)
    assert working_on_or_before(SITE["callow-forge"], date(2027, 1, 3)) == date(2026, 12, 23)


@pytest.mark.parametrize(
    ("site", "day", "expected"),
    [
        ("harrow-dock", date(2026, 3, 27), "2026-03-27T06:00:00+00:00"),
        ("harrow-dock", date(2026, 3, 30), "2026-03-30T06:00:00+01:00"),
        ("cedar-flats", date(2026, 3, 9), "2026-03-09T06:00:00-05:00"),
        ("dry-mesa", date(2026, 7, 6), "2026-07-06T06:00:00-07:00"),
    ],
)
def test_a_moment_carries_the_offset_of_its_day(site: str, day: date, expected: str) -> None:
    """Six in the morning is written with the offset the site has on that day."""
    assert moment(SITE[site], day, 360).isoformat() == expected


def test_a_night_shift_runs_past_midnight() -> None:
    """Minute 1,590 of a day is half past two of the next."""
    assert moment(SITE["dry-mesa"], date(2026, 7, 6), 1590).isoformat() == "2026-07-07T02:30:00-07:00"


@pytest.mark.parametrize(
    ("day", "expected"),
    [
        (date(2026, 1, 15), date(2026, 2, 15)),
        (date(2026, 1, 31), date(2026, 2, 28)),
        (date(2028, 1, 31), date(2028, 2, 29)),
        (date(2026, 2, 28), date(2026, 3, 28)),
        (date(2026, 12, 31), date(2027, 1, 31)),
    ],
)
def test_a_month_later_has_the_same_number_or_is_the_last_day(day: date, expected: date) -> None:
    """A month goes to the same day-number, else to the month's last day (design 4)."""
    assert month_after(day) == expected


def test_the_year_before_a_leap_day_ends_on_the_28th() -> None:
    """The year that ends on 29 February 2028 starts on 28 February 2027."""
    assert year_before(date(2028, 2, 29)) == date(2027, 2, 28)
    assert year_before(date(2026, 11, 25)) == date(2025, 11, 25)


def test_the_fourth_thursday_of_november_is_found() -> None:
    """The fourth Thursday of November 2026 is the 26th."""
    assert weekday_of(2026, 11, weekday=3, number=4) == date(2026, 11, 26)
