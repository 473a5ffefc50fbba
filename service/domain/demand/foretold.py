"""How many changes are expected within some days, each place counted once."""

from collections.abc import Iterable
from datetime import date
from math import floor

import msgspec

from service.domain.demand.changes import Change


class Foretold(msgspec.Struct, frozen=True):
    """Changes that are expected: under open recalls, and for any other reason."""

    recalled: int
    others: int


def foretold(changes: Iterable[Change], today: date, days: float) -> Foretold:
    """Count the changes within so many days from today, those that follow the first included.

    A place counts by its earliest change, whatever it is listed for: what is recalled and owed besides is changed once.
    A change on the last day counts. What follows a recall is no recall.
    """
    firsts: dict[str, Change] = {}
    for change in changes:
        known = firsts.setdefault(change.place, change)
        if (change.on, change.because != "recall") < (known.on, known.because != "recall"):
            firsts[change.place] = change
    recalled = sum(change.because == "recall" and _times(change, today, days) > 0 for change in firsts.values())
    return Foretold(recalled, sum(_times(change, today, days) for change in firsts.values()) - recalled)


def _times(change: Change, today: date, days: float) -> int:
    left = days - (change.on - today).days
    if left < 0:
        return 0
    return 1 + (floor(left / change.every) if change.every else 0)
