"""Versions of one thing in time: which holds at a moment (R5, R40; decision 8).

A version takes effect at its `effective_from`, but not before its receipt unless it is a reasoned correction. The one
that took effect last holds; of several at one instant the last in fold order (R2). When a reference event occurred
matters for that order alone. A correction therefore bites only up to the next version: to replace a version from its
very beginning, give the same `effective_from`, or void it.
"""

from bisect import bisect_right
from collections.abc import Iterable
from datetime import UTC, date, datetime
from typing import Generic, NamedTuple, TypeVar
from zoneinfo import ZoneInfo

from service.domain.calendar import day_end, zone
from service.domain.event import ReferenceEvent
from service.domain.kinds.site_defined import SiteDefined
from service.domain.recorded import Recorded

E = TypeVar("E", bound=ReferenceEvent)

Instant = datetime
Order = tuple[Instant, str, int, bytes]


class Version(NamedTuple, Generic[E]):
    """One version, and the instant from which it holds."""

    since: Instant
    event: E
    seq: int
    received_at: Instant

    @property
    def backdated(self) -> bool:
        """Say whether it bites before it was received."""
        return self.since < self.received_at


def version(event: E, recorded: Recorded) -> Version[E]:
    """Place a reference event at the instant from which it holds."""
    return Version(in_effect(event, recorded.received_at), event, recorded.seq, recorded.received_at)


def in_effect(event: ReferenceEvent, received_at: Instant) -> Instant:
    """Give the instant from which a version holds (R5)."""
    if event.effective_from is None:
        return received_at
    asked = event.effective_from.astimezone(UTC)
    return asked if event.correction else max(asked, received_at)


def zone_of(site: SiteDefined) -> ZoneInfo:
    """Give the zone of a site; one that no zone file knows is UTC."""
    try:
        return zone(site.time_zone)
    except ValueError:
        return zone("UTC")


def order(event: ReferenceEvent) -> Order:
    """Give the place of a reference event among others of one instant of effect: R2, the ranks being equal.

    A day counts at its end, in a site's own zone, else in UTC: reference data comes before anything that has a zone.
    """
    instant, counter = event.occurred_at, event.device_seq
    if instant is None:
        place = zone_of(event) if isinstance(event, SiteDefined) else zone("UTC")
        instant = day_end(event.occurred_on or date.min, place)
    return (instant, event.device or "", -1 if counter is None else counter, event.id.bytes)


class Timeline(Generic[E]):
    """The versions of one thing, each from its start up to the next one's; at least one.

    `ranked` also has those that another one of the same instant outdoes.
    """

    __slots__ = ("ranked", "starts", "versions")

    def __init__(self, versions: Iterable[Version[E]]) -> None:
        self.ranked = sorted(versions, key=lambda found: (found.since, order(found.event)))
        last = {found.since: found for found in self.ranked}
        self.starts = list(last)
        self.versions = list(last.values())

    def begun(self, at: Instant) -> Version[E] | None:
        """Give the version that took effect last, if one has by then."""
        place = bisect_right(self.starts, at)
        return self.versions[place - 1] if place else None

    def holding(self, at: Instant) -> Version[E]:
        """Give the version that holds, the first one also for all earlier time (R40)."""
        return self.versions[max(bisect_right(self.starts, at) - 1, 0)]

    def during(self, since: Instant, until: Instant) -> list[Version[E]]:
        """Give the versions that hold at any moment from one to another, both included."""
        first = max(bisect_right(self.starts, since) - 1, 0)
        return self.versions[first : max(bisect_right(self.starts, until), first + 1)]

    def before(self, version: Version[E]) -> "Timeline[E] | None":
        """Give the timeline as it was before a version was received, None where nothing was known."""
        known = [found for found in self.ranked if found.received_at < version.received_at]
        return Timeline(known) if known else None

    def end(self, version: Version[E]) -> Instant | None:
        """Give the instant at which the next version takes over, None where none does."""
        place = bisect_right(self.starts, version.since)
        return self.starts[place] if place < len(self.starts) else None
