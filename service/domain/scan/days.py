"""Days as codes write them."""

from calendar import monthrange
from datetime import date

AHEAD = 50
"""A year of two digits lies at most so far ahead, and one less back (GS1 General Specifications, section 7.12)."""

MONTHS = 12
LONGEST_MONTH = 31
HOURS = 24
MINUTES = 60


def short_day(yymmdd: str, today: date, *, may_be_month: bool = True) -> date:
    """Read a day whose century is the nearest; day 00 is the last of a month. ValueError for no day there is."""
    year = today.year - today.year % 100 + int(yymmdd[:2])
    if year - today.year > AHEAD:
        year -= 100
    elif year - today.year < 1 - AHEAD:
        year += 100
    month, day = int(yymmdd[2:4]), int(yymmdd[4:6])
    return date(year, month, day or (monthrange(year, month)[1] if may_be_month else day))


def wrong_part(yymmdd: str) -> str | None:
    """Say which part of six digits no date has; None where each could be."""
    month, day = yymmdd[2:4], yymmdd[4:6]
    if not 1 <= int(month) <= MONTHS:
        return f"there is no month {month}"
    return f"no month has a day {day}" if int(day) > LONGEST_MONTH else None


def is_time(hhmm: str) -> bool:
    """Say whether four digits are an hour and a minute."""
    return int(hhmm[:2]) < HOURS and int(hhmm[2:]) < MINUTES


def long_day(yyyymmdd: str) -> date:
    """Read a day written with eight digits. ValueError for no day there is."""
    if len(yyyymmdd) != len("20290531") or not (yyyymmdd.isascii() and yyyymmdd.isdecimal()):
        raise ValueError(yyyymmdd)
    return date(int(yyyymmdd[:4]), int(yyyymmdd[4:6]), int(yyyymmdd[6:]))
