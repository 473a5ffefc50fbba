"""Marking: a fold is marked now and then, so that what comes late is folded from a mark instead of from the beginning.

Before which facts there are marks depends on those facts and their neighbours alone: a fold that goes on and one that
starts from nothing mark the same places, and what is put in later leaves the marks elsewhere where they are.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime
from hashlib import sha256
from uuid import UUID

from msgspec.structs import replace

from service.domain.facts import Fact, Signal
from service.domain.fold import Stop
from service.domain.snapshot import Mark, Snapshot
from service.domain.suspicion import watch

EVERY = 64
"""Facts from one mark to the next, on average."""


def places(facts: Sequence[Fact | Signal], start: Snapshot) -> list[int]:
    """List the places of a unit's further facts before which its fold is marked.

    A mark divides instants, and parts no fact from its echo or another signal of the same event, though that was told
    before all of these, as before the registration: what follows it needs nothing of what went before but what the fold
    made of it.
    """
    found: list[int] = []
    last = {_origin(fact): place for place, fact in enumerate(facts)}
    first = {_origin(fact): place for place, fact in reversed([*enumerate(facts)])}
    begun = [(place, fact) for place, fact in enumerate(facts) if first[_origin(fact)] == place]
    apart = (place for place, fact in begun if _follows(fact, begins_later=last[_origin(fact)] > place))
    reach, at = max(apart, default=-1), start.left[0].at
    for place, fact in enumerate(facts):
        if fact.at != at and reach < place and chosen(fact):
            found.append(place)
        reach, at = max(reach, last[_origin(fact)]), fact.at
    return found


def chosen(fact: Fact | Signal) -> bool:
    """Say whether the fact is one in so many, by what it is of: whatever ids senders make, these are spread evenly."""
    return sha256(_origin(fact).bytes).digest()[0] % EVERY == 0


def marks(
    facts: Sequence[Fact | Signal], found: Sequence[int], stops: Sequence[Stop], start: Snapshot
) -> Iterator[Mark]:
    """Give the marks at the places found, where the fold of the facts left these stops."""
    watched, done = start.watch, 0
    for place, stop in zip(found, stops, strict=True):
        watched = later(watched, watch(fact for fact in facts[done:place] if isinstance(fact, Fact)))
        done = place
        key = facts[place - 1].key if place else start.key
        yield Mark(replace(start, left=(stop.folded,), key=key, watch=watched), stop.asked)


def later(one: datetime | None, other: datetime | None) -> datetime | None:
    """Give the later of two moments, of which there may be none."""
    return max((moment for moment in (one, other) if moment is not None), default=None)


def _follows(fact: Fact | Signal, *, begins_later: bool) -> bool:
    """Say whether it tells something again, or ends it, that was told before; an echo may come before what it repeats.

    `begins_later` says whether anything more of the same event follows.
    """
    return fact.echo and not begins_later if isinstance(fact, Fact) else not fact.reasons


def _origin(fact: Fact | Signal) -> UUID:
    return fact.event.id if isinstance(fact, Fact) else fact.ref
