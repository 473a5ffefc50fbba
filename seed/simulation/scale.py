"""How much is simulated, and how much at most."""

import msgspec

from seed.simulation.faults import FAULTS

MOST = {"sites": 500, "assets": 20_000, "days": 5}
"""The most of each. All of it fits into seven days, so that three failures of a unit are always three in a week."""
UNIT_DAYS = 60_000
"""Units times days at most: some half a million messages."""
LONGEST_SECONDS = 3600


class NotToScale(Exception):
    """A simulation that is asked for is too small to be one, or too large to end."""


class Scale(msgspec.Struct, frozen=True, kw_only=True):
    """How many sites, units and whole days, from which seed, with which faults. Raises NotToScale."""

    sites: int
    assets: int
    days: int
    seed: int = 20
    faults: frozenset[str] = frozenset(FAULTS)

    def __post_init__(self) -> None:
        """Refuse what is out of bounds."""
        for name, most in MOST.items():
            if not 1 <= getattr(self, name) <= most:
                message = f"{name}: from 1 to {most:,} can be simulated, not {getattr(self, name):,}"
                raise NotToScale(message)
        if self.assets < self.sites:
            message = f"assets: each of the {self.sites:,} sites needs one at least"
            raise NotToScale(message)
        if self.assets * self.days > UNIT_DAYS:
            message = f"assets times days: {UNIT_DAYS:,} at most, not {self.assets * self.days:,}"
            raise NotToScale(message)


def demand_seconds(seconds: int) -> None:
    """Refuse a bound of time that is none. Raises NotToScale."""
    if not 1 <= seconds <= LONGEST_SECONDS:
        message = f"seconds: from 1 to {LONGEST_SECONDS:,}, not {seconds:,}"
        raise NotToScale(message)
