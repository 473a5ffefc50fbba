"""Which bad news counts a second time when it is received, because its clock is in doubt (R8, R9).

It does where the device states a clock that is off by more than is tolerated; where another message of the device
contradicts the order of its numbers by more than that, be it because the counter began again; and where no clock is
stated, it came over an hour late, which everything does here, and something good was said of the unit since.
"""

from collections import defaultdict
from collections.abc import Iterable
from datetime import datetime

from seed.adverse import adverse
from seed.simulation.devices import TOLERATED, Taken


def counts_again(every: Iterable[Taken]) -> frozenset[str]:
    """Name the messages that count again."""
    every = list(every)
    by_device: defaultdict[str, list[Taken]] = defaultdict(list)
    good: defaultdict[object, list[datetime]] = defaultdict(list)
    for one in every:
        by_device[one.device.name].append(one)
        if not adverse(one.message):
            good[one.message["asset"]].append(one.stamp)
    return frozenset(
        one.id
        for one in every
        if adverse(one.message)
        if one.device.is_suspect
        or _contradicted(one, by_device[one.device.name])
        or (one.device.says == "nothing" and max(good[one.message["asset"]]) > one.stamp)
    )


def _contradicted(one: Taken, others: Iterable[Taken]) -> bool:
    """Say whether a message stands to another of its device the other way round in number than in time."""
    return any(_backwards(one, other) for other in others)


def _backwards(one: Taken, other: Taken) -> bool:
    if other.number < one.number:
        return other.stamp > one.stamp + TOLERATED
    return other.number > one.number and other.stamp < one.stamp - TOLERATED
