"""Facts: events as they take effect on a unit, each at its instant and in its place of the fold.

The order of truth is instant, favourable before adverse, kind, device, counter, id. When an event was recorded never
decides what it means; only bad news whose clock is suspect also counts when it was received.
"""

from datetime import UTC, datetime
from typing import TYPE_CHECKING
from uuid import UUID

import msgspec

from service.domain.calendar import day_end, day_start
from service.domain.event import AssetEvent, Event
from service.domain.recorded import Recorded

if TYPE_CHECKING:
    from service.domain.world import World

Key = tuple[datetime, bool, int, str, int, bytes, bool]


class Taking(msgspec.Struct, gc=False, frozen=True):
    """A voiding in force: of which event, by whom, its instant, and the places of the event in the fold."""

    original: UUID
    posted_by: str
    voided_by: str
    at: datetime
    keys: tuple[Key, ...]


class Fact(msgspec.Struct, gc=False, frozen=True):
    """One event taking effect at `at`, judged by the versions of reference data in force `as_of`.

    A date alone lasts from `as_of` to `ends`, its day. An `echo` is bad news taking effect again at its receipt.
    `taking` is the voiding that a release rests on.
    """

    at: datetime
    key: Key
    event: AssetEvent
    recorded: Recorded
    as_of: datetime
    ends: datetime
    echo: bool = False
    taking: Taking | None = None


def day_of(fact: Fact) -> datetime | None:
    """Give the other end of its day of a fact that states a day alone: it counts at one end; None for any other."""
    if fact.echo or fact.as_of == fact.ends:
        return None
    return fact.as_of if fact.at == fact.ends else fact.ends


class Signal(msgspec.Struct, gc=False, frozen=True):
    """Something that is no event of the unit takes effect: the receipt of one, a report, a component's condition.

    `name` is "receipt", "report" or "component"; `reasons` are what speaks from now on, none where it ends.
    """

    at: datetime
    key: Key
    name: str
    ref: UUID
    reasons: tuple[str, ...] = ()


def place(recorded: Recorded, site: str | None, world: "World") -> Fact:
    """Place an event of a unit at its instant; `site` is where the unit was, for a date that names no site."""
    event = recorded.event
    if not isinstance(event, AssetEvent):
        raise TypeError(event.kind)
    begins, ends = lasting(event, site, world)
    at = begins if event.adverse() else ends
    return Fact(at, fold_key(event, at), event, recorded, begins, ends)


def echo(fact: Fact) -> Fact:
    """Repeat bad news at its receipt."""
    at = fact.recorded.received_at.astimezone(UTC)
    return msgspec.structs.replace(fact, at=at, key=fold_key(fact.event, at, echo=True), ends=at, echo=True)


def fold_key(event: Event, at: datetime, *, echo: bool = False) -> Key:
    """Give the place of an event in the fold."""
    counter = -1 if event.device_seq is None else event.device_seq
    return (at, event.adverse(), event.rank, event.device or "", counter, event.id.bytes, echo)


def signal(at: datetime, name: str, ref: UUID, reasons: tuple[str, ...] = ()) -> Signal:
    """Place a signal: what ends something first, bad news after every event of its instant."""
    bad = bool(reasons)
    return Signal(at, (at, bad, 99 if bad else -1, "", -1, ref.bytes, False), name, ref, reasons)


def instant(event: Event, site: str | None, world: "World") -> datetime:
    """Give the moment at which an event counts: a date alone at the end of its day for good news, else at its start."""
    begins, ends = lasting(event, site, world)
    return begins if event.adverse() else ends


def lasting(event: Event, site: str | None, world: "World") -> tuple[datetime, datetime]:
    """Give the instant of an event twice, or of a date alone the start and the end of its day.

    The day is that of the event's own site, else of `site`, else of UTC.
    """
    if event.occurred_at is not None:
        at = event.occurred_at.astimezone(UTC)
        return at, at
    day = event.occurred_on
    if day is None:  # pragma: no cover - the decoder demands one of the two
        raise ValueError(event.id)
    zone = world.zone_on(event.site or site or "", day)
    return day_start(day, zone), day_end(day, zone)
