"""The shape of the data: how much of what, from which seed; and how units, sites, kiosks and people are called.

Every name of a sort is of one length, so that what is told of one unit is told of another by putting in its names.
"""

from datetime import UTC, datetime

import msgspec

SAMPLE = 999_999
"""The number of the unit that stands for all of its pattern."""
CLASSES = (("uk", "Europe/London"), ("us", "America/New_York"))
"""Profile and time zone of even and of odd sites."""
SHIFT = "day"
"""The one shift of every site."""
TOGETHER = 200
"""Units of a pattern at full size: they share their moments, and nothing else."""


class Shape(msgspec.Struct, frozen=True, kw_only=True):
    """How much there is. `until` is when the last of it happened, `long` the events of the unit with a long history.

    `late` and `voided` are shares of the events, `large` is the share of the units that is at the first site.
    """

    events: int
    units: int
    sites: int
    until: datetime
    seed: int = 7
    long: int = 0
    late: float = 0.01
    voided: float = 0.001
    large: float = 0.2

    @property
    def of_sites(self) -> int:
        """Give the events that are about a site and no unit: its stock and orders."""
        return max(1, round(0.03 * self.events / self.sites))

    def of_a_unit(self, nth: int) -> int:
        """Give the events of each unit of the nth pattern of a class: on average as many as fill the log."""
        others = self.long + self.of_sites * (self.sites - 2) + 5 * self.sites + 11
        average = (self.events - others) / self.units / (1 + self.voided / 2)
        return max(4, int(average * (nth + 1)) - int(average * nth))

    @property
    def patterns(self) -> int:
        """Give the number of patterns of units at the sites of one class."""
        return max(8, self.units // TOGETHER // len(CLASSES))

    def site_of(self, unit: int) -> int:
        """Give the site at which a unit begins: two are left, which units are moved to."""
        every = round(1 / self.large)
        return 0 if unit % every == 0 else 1 + (unit * 7919) % (self.sites - 3)


def shape_of(events: int, until: datetime, seed: int = 7) -> Shape:
    """Give the shape for so many events: a fifth as many units up to 200,000, a unit in 20 a site up to 1,000."""
    units = min(200_000, events // 5)
    sites = max(6, min(1000, units // 20))
    return Shape(events=events, units=units, sites=sites, until=until, seed=seed, long=min(20_000, events // 50))


def just_now() -> datetime:
    """Give the end of the last whole hour."""
    return datetime.now(UTC).replace(minute=0, second=0, microsecond=0)


def tag_of(unit: int) -> str:
    """Name a unit."""
    return f"FX-{unit:06d}"


def second_tag_of(unit: int) -> str:
    """Name a unit once it has another tag."""
    return f"GX-{unit:06d}"


def serial_of(unit: int) -> str:
    """Name the serial number of a unit: without a leading zero, so that its place among labels is of one length."""
    return f"SN-{1_000_000 + unit}"


def site_ref(site: int) -> str:
    """Name a site."""
    return f"site-{site:04d}"


def kiosk_of(site: int) -> str:
    """Name the kiosk of a site."""
    return f"kiosk-{site:04d}"


def person_of(site: int, who: str) -> str:
    """Name a person of a site: `a` examines, repairs and releases, `b` and `c` wear."""
    return f"p-{site:04d}-{who}"
