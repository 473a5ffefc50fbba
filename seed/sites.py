"""The ten sites of the Varrowby group. All of it is invented; only the time zones are real.

What may live here: names, zones, calendars and shifts, as a table.
"""

from datetime import date, timedelta

import msgspec

WEEK = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


class Shift(msgspec.Struct, frozen=True):
    """A shift: its name, its local start as minutes after midnight, and its length in minutes."""

    name: str
    starts: int
    lasts: int


class Site(msgspec.Struct, frozen=True):
    """A site of the group; `code` begins the names of its devices and crews.

    `added` holds shifts that the site works only from the middle of the demo's year on.
    """

    ref: str
    code: str
    name: str
    region: str
    profile: str
    zone: str
    address: str
    shifts: tuple[Shift, ...]
    added: tuple[Shift, ...] = ()
    working_days: tuple[str, ...] = WEEK[:5]


EARLY = Shift("early", 6 * 60, 8 * 60)
LATE = Shift("late", 14 * 60, 8 * 60)
DAY = Shift("day", 7 * 60 + 30, 8 * 60 + 30)
LONG = Shift("day", 7 * 60, 10 * 60)
NIGHT = Shift("night", 18 * 60, 8 * 60 + 30)

UK = "Varrowby Fabrication Limited"
US = "Varrowby Fabrication Incorporated"

SITES: tuple[Site, ...] = (
    Site("harrow-dock", "hd", "Harrow Dock", "north", "uk", "Europe/London", "Dock Road, Harrow Dock", (EARLY, LATE)),
    Site("callow-forge", "cf", "Callow Forge", "north", "uk", "Europe/London", "Forge Lane, Callow", (DAY,)),
    Site("eastmere-yard", "ey", "Eastmere Yard", "north", "uk", "Europe/London", "Yard Lane, Eastmere", (DAY,)),
    Site("pellbrook", "pb", "Pellbrook", "south", "uk", "Europe/London", "Mill Lane, Pellbrook", (EARLY,), (LATE,)),
    Site("saltreach", "sr", "Saltreach Slip", "south", "uk", "Europe/London", "The Slip, Saltreach", (DAY,)),
    Site("brackmoor", "bm", "Brackmoor Hall", "south", "uk", "Europe/London", "Hall Road, Brackmoor", (DAY,)),
    Site("cedar-flats", "cd", "Cedar Flats", "plains", "us", "America/Chicago", "12 Depot Street, Cedar Flats", (DAY,)),
    Site("marrow-bend", "mb", "Marrow Bend", "east", "us", "America/New_York", "3 Bend Road, Marrow", (EARLY, LATE)),
    Site("dry-mesa", "dm", "Dry Mesa", "west", "us", "America/Phoenix", "40 Mesa Road, Dry Mesa", (EARLY, NIGHT)),
    Site(
        "copper-landing", "cl", "Copper Landing", "west", "us", "America/Los_Angeles", "8 Landing Way, Copper Landing",
        (LONG,), working_days=WEEK[:4],
    ),
)  # fmt: skip


def employer(site: Site) -> dict[str, object]:
    """Name the employer as an examination record must (L5 para 184, item 1)."""
    return {"name": UK if site.profile == "uk" else US, "address": site.address}


def closures(site: Site, year: int) -> tuple[tuple[date, date], ...]:
    """List the days of a year on which the site is closed, first and last day of each closure."""
    winter = (date(year, 12, 24), date(year, 12, 31))
    new_year = (date(year, 1, 1), date(year, 1, 2))
    if site.profile == "us":
        harvest = weekday_of(year, 11, weekday=3, number=4)
        return new_year, (date(year, 7, 4), date(year, 7, 4)), (harvest, harvest + timedelta(days=1)), winter
    spring = weekday_of(year, 5, weekday=0, number=1)
    summer = weekday_of(year, 8, weekday=0, number=1)
    return new_year, (spring, spring), (summer, summer + timedelta(days=4)), winter


def weekday_of(year: int, month: int, *, weekday: int, number: int) -> date:
    """Find the numbered weekday (Monday is 0) of a month."""
    first = date(year, month, 1)
    return first + timedelta(days=(weekday - first.weekday()) % 7 + 7 * (number - 1))
