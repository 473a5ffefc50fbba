"""Rounds: when devices deliver what they took down. Each local day has three, the first ending when the shift starts.

A device without a line keeps what it has for the first round in which it has one again; in the last all of them have.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime, timedelta

import msgspec

from seed.days import moment
from seed.dice import Dice
from seed.simulation.devices import Taken
from seed.sites import Site

ENDS = (6 * 60 + 30, 14 * 60, 24 * 60)
"""When the rounds of a day end, in minutes after local midnight."""
LONGEST_OFFLINE = 7
EVERY_OTHER = 2


class Round(msgspec.Struct, frozen=True):
    """What every device delivers in a round, and whether a shift starts in it."""

    shift_start: bool
    due: Mapping[str, Sequence[Taken]]


class Rounds(msgspec.Struct, frozen=True):
    """All rounds, and how long devices kept what they took down, in seconds of simulated time."""

    every: tuple[Round, ...]
    kept: tuple[float, ...]


def rounds(
    every: Iterable[Taken], sites: Mapping[str, Site], eve: date, end: datetime, dice: Dice, faults: frozenset[str]
) -> Rounds:
    """Put what was taken down into the rounds from the eve to the end."""
    count = ((end.date() - eve).days + 1) * len(ENDS)
    spells: dict[str, range] = {}
    due: list[defaultdict[str, list[Taken]]] = [defaultdict(list) for _ in range(count)]
    kept: list[float] = []
    for one in every:
        name = one.device.name
        if name not in spells:
            spells[name] = _without_line(len(spells), count, dice, faults)
        site = sites[str(one.message["site"])]
        taken_in = _round_of(one.at, site, eve)
        sent_in = min(spells[name].stop if taken_in in spells[name] else taken_in, count - 1)
        due[sent_in][name].append(one)
        kept.append(max(0.0, (min(_end(sent_in, site, eve), end) - one.at).total_seconds()))
    return Rounds(
        tuple(Round(number % len(ENDS) == 0 and number > 0, dict(one)) for number, one in enumerate(due)), tuple(kept)
    )


def _without_line(nth: int, count: int, dice: Dice, faults: frozenset[str]) -> range:
    """Draw the rounds in which a device has no line; on the eve it always has one."""
    if "offline" not in faults or nth % EVERY_OTHER:
        return range(0)
    since = dice.between(len(ENDS), count - 1)
    return range(since, since + dice.between(1, LONGEST_OFFLINE))


def _round_of(at: datetime, site: Site, eve: date) -> int:
    """Give the round in which a moment falls at a site."""
    number = 0
    while _end(number, site, eve) < at:
        number += 1
    return number


def _end(number: int, site: Site, eve: date) -> datetime:
    day, part = divmod(number, len(ENDS))
    return moment(site, eve + timedelta(days=day), ENDS[part])
