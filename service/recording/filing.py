"""Filing: under which subjects an event stands in the index, and at which moment."""

from collections.abc import Iterator
from datetime import UTC, datetime, time, timedelta

from service.domain.event import AssetEvent, Event
from service.domain.kinds.retagged import Retagged
from service.domain.kinds.use_set import UseSet
from service.domain.label import sorting
from service.domain.parts_told import parts_of
from service.domain.recall.traces import traces
from service.domain.recorded import Recorded
from service.domain.stock.traces import shelves
from service.recording.references import is_context
from service.store.append import CONTEXT

OCCASIONAL = "use:occasional"
"""The subject under which every setting of occasional use is found."""
PART_SERIAL = "part-serial:"
"""Begins the subjects under which parts are found by their serial numbers."""
ZONES = timedelta(days=1)
"""A day begins nowhere so much before or after it does in UTC."""
SPREAD = 2 * ZONES
"""No event counts so long after its moment here."""


def tags_of(event: Event) -> tuple[str, ...]:
    """Name the tags an event is about, its own first; for the kins it touches."""
    if not isinstance(event, AssetEvent):
        return ()
    if isinstance(event, Retagged):
        return (event.asset, event.new_tag)
    return (event.asset,)


def part_subjects(lot: str | None, serial: str | None) -> Iterator[str]:
    """Name what a part is found by, whatever item it is of: its lot, and its serial number, as they are compared."""
    if lot is not None:
        yield f"lot:{sorting(lot)}"
    if serial is not None:
        yield f"{PART_SERIAL}{sorting(serial)}"


def moment_of(row: Recorded) -> datetime:
    """Give the earliest moment an event can bear on: its stamp or its receipt; of a date, its start in any zone."""
    event = row.event
    if event.occurred_at is not None:
        return min(event.occurred_at.astimezone(UTC), row.received_at)
    return min(datetime.combine(event.earliest_day(), time(), UTC) - ZONES, row.received_at)


def is_counted_bad_news(event: Event) -> bool:
    """Say whether a device's own counter can speak against the clock of the event (R8)."""
    stamped = event.occurred_at is not None and event.device_seq is not None and event.device is not None
    return stamped and isinstance(event, AssetEvent) and event.adverse()


def filed(row: Recorded, target: Event | None) -> Iterator[tuple[str, datetime]]:
    """Give the subjects of an event; `target` is what a voiding is in the end about."""
    moment = moment_of(row)
    tags = tags_of(row.event if target is None else target)
    marks = (mark for part in parts_of(row.event) for mark in part_subjects(part.lot, part.serial))
    for subject in dict.fromkeys((*row.event.subjects(), *(f"asset:{tag}" for tag in tags), *marks)):
        yield subject, moment
    if target is not None:
        yield from ((f"voiding:{tag}", moment) for tag in tags)
    if target is None and is_counted_bad_news(row.event):
        yield f"adverse:{row.event.device}", moment
    if isinstance(row.event, UseSet) and row.event.use == "occasional":
        yield OCCASIONAL, moment
    yield from ((trace, moment) for trace in dict.fromkeys((*traces(row.event), *shelves(row.event))))
    if is_context(row.event, target):
        yield CONTEXT, row.received_at
