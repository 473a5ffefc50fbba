"""Whether what is recorded of the reference data alters anything that units are judged by.

A definition sent again as it stands, or with another name alone, leaves every judgement as it is.
"""

from collections.abc import Sequence
from functools import cache
from typing import TypeVar

from service.domain.event import ReferenceEvent
from service.domain.recorded import Recorded
from service.domain.versions import Instant, Timeline, version
from service.domain.voiding import voidings

E = TypeVar("E", bound=ReferenceEvent)
Said = tuple[object, ...]


def unaltered(event: ReferenceEvent, before: Sequence[Recorded], after: Sequence[Recorded]) -> bool:
    """Say whether judgements are told the same at all times of what an event defines, before and after."""
    old, new = _timeline(event, before), _timeline(event, after)
    starts = [*(old.starts if old else ()), *(new.starts if new else ())]
    return all(_said(old, at) == _said(new, at) for at in starts)


def _timeline(event: ReferenceEvent, rows: Sequence[Recorded]) -> Timeline[ReferenceEvent] | None:
    """Give the versions of what the event defines: of a policy those of its own scope."""
    thing, voided = event.subjects(), voidings(rows)
    versions = [
        version(row.event, row)
        for row in rows
        if isinstance(row.event, type(event)) and row.event.subjects() == thing and row.event.id not in voided
    ]
    return Timeline(versions) if versions else None


def altering(timeline: Timeline[E]) -> list[Instant]:
    """List where versions begin by which judgements are told something else than just before; the first is one."""
    said = [_judged(one.event) for one in timeline.versions]
    return [at for nth, at in enumerate(timeline.starts) if nth == 0 or said[nth] != said[nth - 1]]


def _said(timeline: Timeline[ReferenceEvent] | None, at: Instant) -> Said | None:
    begun = timeline.begun(at) if timeline is not None else None
    return None if begun is None else _judged(begun.event)


def _judged(event: ReferenceEvent) -> Said:
    return tuple(getattr(event, name) for name in judged_by(type(event)))


@cache
def judged_by(kind: type[ReferenceEvent]) -> tuple[str, ...]:
    """Name the fields of a kind that judgements may go by: its own, without those that only people and buyers read."""
    own = kind.__annotations__
    return tuple(name for name in kind.__struct_fields__ if name in own and name not in kind.not_judged)
