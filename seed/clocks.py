"""Devices whose clocks are wrong: one drifts, one lost an hour, one lost three days, one runs slow at the very end.

Wrong spells are laid where the device has no bad news, except the last one: bad news with a doubtful clock counts
again when it is received, which for imported months would be the day of the import.
"""

from collections.abc import Iterable
from datetime import date, datetime, timedelta

import msgspec

from seed.adverse import adverse
from seed.book import Entry

DRIFTING = "ey-kiosk-2"
DRIFT_A_DAY = 28
SET_EVERY_DAYS = 14
HOUR_LOST = "cl-kiosk-1"
DAYS_LOST = "bm-kiosk-1"
SLOW = "sr-kiosk-1"
SLOW_SECONDS = 17 * 60
QUIET_DAYS = 5
LAST_CLEAN_DAYS = 20


class Clocks(msgspec.Struct, frozen=True):
    """How far ahead of the true time each device's clock is, at any moment."""

    start: datetime
    end: datetime
    hour_lost: frozenset[date]
    days_lost: frozenset[date]

    def ahead(self, device: str | None, at: datetime) -> int:
        """Give the seconds a clock is ahead; behind where negative."""
        if device == DRIFTING and at < self.end - timedelta(days=LAST_CLEAN_DAYS):
            return DRIFT_A_DAY * ((at - self.start).days % SET_EVERY_DAYS)
        if device == HOUR_LOST and at.date() in self.hour_lost:
            return -3600
        if device == DAYS_LOST and at.date() in self.days_lost:
            return -3 * 86400
        if device == SLOW and at > self.end - timedelta(days=2):
            return -SLOW_SECONDS
        return 0


def wrong_clocks(entries: list[Entry], end: datetime) -> Clocks:
    """Find quiet days for the clocks that lose an hour and three days."""
    start = entries[0].at
    return Clocks(
        start=start,
        end=end,
        hour_lost=frozenset(quiet_days(entries, HOUR_LOST, end, 2)),
        days_lost=frozenset(quiet_days(entries, DAYS_LOST, end, 1)),
    )


def quiet_days(entries: list[Entry], device: str, end: datetime, count: int) -> list[date]:
    """Find days on which a device sent checks alone, with no bad news from it some days before and after."""
    own = [entry for entry in entries if entry.device == device and entry.at < end - timedelta(days=LAST_CLEAN_DAYS)]
    bad = sorted({entry.at.date() for entry in own if adverse(entry.message)})
    kinds: dict[date, set[object]] = {}
    for entry in own:
        kinds.setdefault(entry.at.date(), set()).add(entry.message["kind"])
    quiet = [day for day, found in kinds.items() if found == {"checked"} and _far_from(day, bad)]
    middle = len(quiet) // 2
    return quiet[middle : middle + count]


def _far_from(day: date, others: Iterable[date]) -> bool:
    return all(abs((day - other).days) > QUIET_DAYS for other in others)
