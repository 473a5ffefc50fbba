"""Periods of ISO 8601 ("P1M", "P7D", "PT12H"), and the day one period after another.

What may live here: the period and arithmetic on dates. Instants and zones are the business of `calendar`.
"""

import re
from calendar import monthrange
from datetime import date, timedelta
from functools import lru_cache

import msgspec
from typing_extensions import override

LONGEST = {
    "years": 100,
    "months": 1_200,
    "weeks": 5_200,
    "days": 36_500,
    "hours": 876_000,
    "minutes": 52_560_000,
    "seconds": 3_153_600_000,
}
NUMBER = r"(\d{1,10})"
ISO_8601 = re.compile(
    rf"P(?=.)(?:{NUMBER}Y)?(?:{NUMBER}M)?(?:{NUMBER}W)?(?:{NUMBER}D)?"
    rf"(?:T(?=.)(?:{NUMBER}H)?(?:{NUMBER}M)?(?:{NUMBER}S)?)?",
    re.ASCII,
)


class Period(msgspec.Struct, frozen=True, kw_only=True):
    """A length of time by the calendar (years to days) and by the clock (hours to seconds); never negative."""

    years: int = 0
    months: int = 0
    weeks: int = 0
    days: int = 0
    hours: int = 0
    minutes: int = 0
    seconds: int = 0

    @classmethod
    def parse(cls, text: str) -> "Period":
        """Read an ISO 8601 period of whole numbers, each at most a hundred years; anything else is a ValueError."""
        return _parsed(text)

    @override
    def __str__(self) -> str:
        day = _written(((self.years, "Y"), (self.months, "M"), (self.weeks, "W"), (self.days, "D")))
        clock = _written(((self.hours, "H"), (self.minutes, "M"), (self.seconds, "S")))
        return "P" + (day or ("" if clock else "0D")) + (f"T{clock}" if clock else "")

    @property
    def whole_months(self) -> int:
        """Give the calendar months, twelve to a year."""
        return 12 * self.years + self.months

    @property
    def whole_days(self) -> int:
        """Give the calendar days beside the months, seven to a week."""
        return 7 * self.weeks + self.days

    @property
    def clock(self) -> timedelta:
        """Give the hours, minutes and seconds."""
        return timedelta(hours=self.hours, minutes=self.minutes, seconds=self.seconds)

    @property
    def is_zero(self) -> bool:
        """Say whether the period has no length."""
        return not (self.whole_months or self.whole_days or self.clock)

    def elapsed(self) -> timedelta:
        """Give the period as elapsed time, a day being 24 hours; months have no such length (ValueError)."""
        if self.whole_months:
            message = f"{self} has no length in hours: state days or hours"
            raise ValueError(message)
        return timedelta(days=self.whole_days) + self.clock


def add(day: date, period: Period) -> date:
    """Give the same day-number so many months on, else that month's last day; then the period's days after it.

    28 February and one month is 28 March, 31 January and one month the last of February. A period with hours has no
    date for an answer (ValueError).
    """
    if period.clock:
        message = f"{period} has hours: it leads from an instant to an instant, not from a day to a day"
        raise ValueError(message)
    return months_from(day, period.whole_months) + timedelta(days=period.whole_days)


def months_from(day: date, months: int) -> date:
    """Give the same day-number so many months on (or back, where negative), else that month's last day."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    return date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))


@lru_cache(maxsize=1024)
def longer(one: Period, other: Period) -> bool:
    """Say whether one period ends later than another from some day, so that it does not keep within it.

    P29D and P30D are longer than P1M (from a day in February), P4W is not. Tried from every day of nine years that hold
    leap years and a century year without one.
    """
    if one.whole_months <= other.whole_months and one.whole_days <= other.whole_days and one.clock <= other.clock:
        return False
    return any(_end(day, one) > _end(day, other) for day in TRIED)


TRIED = tuple(date(1896, 1, 1) + timedelta(days=count) for count in range((date(1905, 1, 1) - date(1896, 1, 1)).days))


def _end(day: date, period: Period) -> timedelta:
    return months_from(day, period.whole_months) - day + timedelta(days=period.whole_days) + period.clock


@lru_cache(maxsize=4096)
def _parsed(text: str) -> Period:
    found = ISO_8601.fullmatch(text)
    if found is None:
        message = "is no period of ISO 8601 in whole numbers, such as P1M, P7D or PT12H"
        raise ValueError(message)
    parts = {name: int(part or 0) for name, part in zip(LONGEST, found.groups(), strict=True)}
    for name, part in parts.items():
        if part > LONGEST[name]:
            message = f"is longer than a hundred years: at most {LONGEST[name]} {name}"
            raise ValueError(message)
    return Period(**parts)


def _written(parts: tuple[tuple[int, str], ...]) -> str:
    return "".join(f"{number}{unit}" for number, unit in parts if number)
