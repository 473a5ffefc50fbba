"""Facts: events as they take effect on a unit, each at its instant and in its place of the fold.

The order of truth is instant, favourable before adverse, kind, device, counter, id. When an event was recorded never
decides what it means; only bad news whose clock is suspect also counts when it was received.
"""

from datetime import datetime, timedelta
from uuid import UUID

import msgspec

from service.domain.calendar import day_end, day_start
from service.domain.event import AssetEvent, Event
from service.domain.recorded import Recorded
from service.domain.world import World

HOUR = timedelta(hours=1)

Key = tuple[datetime, bool, int, str, int, bytes, bool]


class Taking(msgspec.Struct, frozen=True):
    """A voiding in force: of which event, by whom, and the later of the two moments."""

    original: UUID
    posted_by: str
    voided_by: str
    at: datetime


class Fact(msgspec.Struct, frozen=True):
    """One event taking effect at `at`; an `echo` is bad news taking effect again at its receipt.

    `struck` says that it was voided since: bad news counts as before, and gains one more way out where `voided` says
    so too (nobody opens it for their own). `taking` is the voiding that a release rests on.
    """

    at: datetime
    key: Key
    event: AssetEvent
    recorded: Recorded
    echo: bool = False
    struck: bool = False
    voided: bool = False
    taking: Taking | None = None


class Signal(msgspec.Struct, frozen=True):
    """Something that is no event of the unit takes effect: a report of a failure, or a component's condition.

    `name` is "report" or "component", `bad` says that it begins to count, else it ends.
    """

    at: datetime
    key: Key
    name: str
    ref: UUID
    bad: bool


def fact(
    recorded: Recorded,
    at: datetime,
    *,
    echo: bool = False,
    struck: bool = False,
    voided: bool = False,
    taking: Taking | None = None,
) -> Fact:
    """Place an event of a unit at an instant."""
    event = recorded.event
    if not isinstance(event, AssetEvent):
        raise TypeError(event.kind)
    return Fact(at, fold_key(event, at, echo=echo), event, recorded, echo, struck, voided, taking)


def fold_key(event: Event, at: datetime, *, echo: bool = False) -> Key:
    """Give the place of an event in the fold."""
    counter = -1 if event.device_seq is None else event.device_seq
    return (at, event.adverse(), event.rank, event.device or "", counter, event.id.bytes, echo)


def signal(at: datetime, name: str, ref: UUID, *, bad: bool) -> Signal:
    """Place a signal: good news first, bad news after every event of its instant."""
    return Signal(at, (at, bad, 99 if bad else -1, "", -1, ref.bytes, False), name, ref, bad)


def instant(event: Event, site: str | None, world: World) -> datetime:
    """Give the moment at which an event counts.

    A date alone counts at the end of its day for good news, at its start for bad, in the zone of the event's site, else
    of `site`, else in UTC.
    """
    if event.occurred_at is not None:
        return event.occurred_at
    day = event.occurred_on
    if day is None:  # pragma: no cover - the decoder demands one of the two
        raise ValueError(event.id)
    zone = world.zone_on(event.site or site or "", day)
    return day_start(day, zone) if event.adverse() else day_end(day, zone)


def clock_suspect(recorded: Recorded, tolerance: timedelta) -> bool:
    """Say whether the sender's clock, or the order of its counter, speaks against the stamp of an event."""
    if recorded.suspect_order:
        return True
    if recorded.sent_at is None:
        return False
    return abs(recorded.received_at - recorded.sent_at) > tolerance


def late_without_clock(recorded: Recorded, at: datetime) -> bool:
    """Say whether a message that states no clock came over an hour after its stamp."""
    return recorded.sent_at is None and not recorded.imported and recorded.received_at - at > HOUR
