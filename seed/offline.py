"""Devices without a line: what they write meanwhile is delivered all at once when the line is back."""

from bisect import bisect_right
from collections import defaultdict
from datetime import datetime, timedelta

from seed.book import Entry
from seed.dice import Dice

SHORT_SPELLS = 7
DRAWER_DEVICES = 3


class Offline:
    """The spells of every device, in order of time."""

    def __init__(self, dice: Dice, entries: list[Entry], end: datetime) -> None:
        devices = sorted({entry.device for entry in entries if entry.device is not None})
        start = entries[0].at
        self._spells: defaultdict[str, list[tuple[datetime, datetime]]] = defaultdict(list)
        for device in devices:
            for _ in range(SHORT_SPELLS):
                self._add(device, start + (end - start) * dice.random(), timedelta(hours=dice.uniform(2, 60)))
        for device in dice.sample([device for device in devices if "bench" in device], DRAWER_DEVICES):
            since = start + (end - start) * dice.uniform(0.2, 0.7)
            self._add(device, since, timedelta(days=dice.uniform(9, 28)))

    def _add(self, device: str, since: datetime, lasts: timedelta) -> None:
        """Add a spell unless it touches the one before; spells never overlap."""
        spells = self._spells[device]
        if all(since + lasts < first or since > last for first, last in spells):
            spells.append((since, since + lasts))
            spells.sort()

    def online(self, device: str | None, at: datetime) -> datetime:
        """Give the moment at which a device that writes at `at` is next on line."""
        if device is None:
            return at
        spells = self._spells[device]
        place = bisect_right(spells, at, key=_since) - 1
        return max(at, spells[place][1]) if place >= 0 else at


def _since(spell: tuple[datetime, datetime]) -> datetime:
    return spell[0]
