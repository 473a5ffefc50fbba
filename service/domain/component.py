"""Components: a part with a tag of its own counts for the unit it is fitted in (R51).

It serves the unit it was registered for, until a part with its serial is taken out, or put in elsewhere.
"""

from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime
from uuid import UUID

from service.domain.event import Event
from service.domain.facts import Fact, Signal, signal
from service.domain.fold import Folded, Story
from service.domain.identity import Identity, normal
from service.domain.intervals import Interval, forbidding
from service.domain.kinds.filter_replaced import FilterReplaced
from service.domain.kinds.part_replaced import PartReplaced
from service.domain.kinds.registered import Registered
from service.domain.kinds.retired import Retired
from service.domain.standing import FOREVER

SPEAKING = frozenset({"withdrawal", "recall", "recheck", "unresolved-report", "retired"})
"""What speaks against the unit that a component serves; where the component itself is does not."""

Stay = tuple[datetime, datetime, UUID]


def conditions(story: Story, identity: Identity, facts: Mapping[UUID, list[Fact]]) -> Iterator[tuple[UUID, Signal]]:
    """Turn a component's story into signals for the units it served."""
    unit = story.folded.unit.unit
    for since, until, host in _stays(unit, identity, facts):
        spoken: tuple[str, ...] = ()
        for interval in story.intervals:
            speaks = _speaking(interval)
            if speaks != spoken and interval.since < until and interval.until > since:
                yield host, signal(max(interval.since, since), "component", unit, speaks)
                spoken = speaks
        if spoken and until < FOREVER:
            yield host, signal(until, "component", unit)


def _speaking(interval: Interval) -> tuple[str, ...]:
    return tuple(reason for reason in interval.reasons if reason in SPEAKING)


def speaks_otherwise(left: Folded, story: Story) -> bool:
    """Say whether a component's story, told on from where it was left, changes what it says to its host."""
    if left.unit.fitted_to is None:
        return False
    spoken = tuple(reason for reason in forbidding(left.unit) if reason in SPEAKING)
    return any(_speaking(interval) != spoken for interval in story.intervals if interval.until > left.at)


def serials_moved(event: Event) -> set[str]:
    """Name the serials of parts that an event puts in or takes out, as they are compared."""
    if not isinstance(event, FilterReplaced | PartReplaced):
        return set()
    return {normal(part.serial) for part in (event.in_, event.out) if part is not None and part.serial is not None}


def _stays(unit: UUID, identity: Identity, facts: Mapping[UUID, list[Fact]]) -> Iterator[Stay]:
    """List from when until when it was fitted in which unit."""
    moves = sorted(_moves(unit, identity, facts), key=lambda move: move[0].key)
    for nth, (fact, host) in enumerate(moves):
        until = moves[nth + 1][0].at if nth + 1 < len(moves) else FOREVER
        if host is not None and host != unit and fact.at < until:
            yield fact.at, until, host


def _living(facts: Iterable[Fact]) -> Iterator[Fact]:
    """Leave out what was said of a unit while it was retired."""
    retired = False
    for fact in facts:
        retired = retired and not isinstance(fact.event, Registered)
        if not retired:
            yield fact
        retired = retired or isinstance(fact.event, Retired)


def _moves(unit: UUID, identity: Identity, facts: Mapping[UUID, list[Fact]]) -> Iterator[tuple[Fact, UUID | None]]:
    """Find where it was registered for, put in, or taken out and not put back."""
    first = identity.registrations[unit][0]
    for fact in identity.registrations[unit]:
        if isinstance(fact.event, Registered):
            host = fact.event.fitted_to
            yield fact, None if host is None else identity.unit(host, fact.key)
    serial = normal(first.event.serial) if isinstance(first.event, Registered) else ""
    for other, known in facts.items():
        for fact in _living(known):
            if fact.key > first.key and isinstance(fact.event, FilterReplaced | PartReplaced):
                put, taken = (part and part.serial and normal(part.serial) for part in (fact.event.in_, fact.event.out))
                if serial in {put, taken}:
                    yield fact, other if serial == put else None
