"""Rehearsal: how long a firm needs to find units and to put them away."""

from collections.abc import Iterable
from datetime import timedelta
from math import ceil

import msgspec

MOST = 10
"""How many of the slowest are named."""


class Slow(msgspec.Struct, frozen=True):
    """A unit, where it is counted, and how long it took."""

    asset: str
    site: str
    seconds: int


class Pace(msgspec.Struct, frozen=True):
    """How many of all units came so far, and within how long half and 90 of 100 of all did; None where fewer did."""

    done: int
    of: int
    median_seconds: int | None
    p90_seconds: int | None
    max_seconds: int | None
    slowest: tuple[Slow, ...]


class Took(msgspec.Struct, frozen=True):
    """A unit, and how long it took; None where it has not come so far."""

    asset: str
    site: str
    time: timedelta | None


def pace(units: Iterable[Took]) -> Pace:
    """Measure units. Those that have not come so far count as slower than any, so that no number hides them."""
    every = list(units)
    done = sorted(
        (Slow(one.asset, one.site, int(one.time.total_seconds())) for one in every if one.time is not None),
        key=lambda one: (one.seconds, one.asset),
    )
    seconds = [one.seconds for one in done]
    return Pace(
        done=len(done),
        of=len(every),
        median_seconds=_within(seconds, len(every), 50),
        p90_seconds=_within(seconds, len(every), 90),
        max_seconds=_within(seconds, len(every), 100),
        slowest=tuple(reversed(done[-MOST:])),
    )


def _within(seconds: list[int], of: int, percent: int) -> int | None:
    """Give the nearest rank: the least of the sorted numbers that so many of a hundred of all do not exceed."""
    rank = ceil(of * percent / 100)
    return seconds[rank - 1] if 0 < rank <= len(seconds) else None
