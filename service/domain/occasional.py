"""Occasional use: the units whose examination a named person allows to be rarer, and by which event.

Beside what follows, only what says who a tag is bears on a unit's use, and what says where a date was.
"""

from collections.abc import Iterable, Iterator
from datetime import UTC, datetime
from operator import itemgetter

import msgspec

from service.domain.facts import Fact, Key, Signal
from service.domain.fold import meant, signalled
from service.domain.kin import UnitFacts, prepare
from service.domain.kinds.use_set import UseSet, authorised
from service.domain.placing import CARRIES_SITE, place_all
from service.domain.recorded import Recorded
from service.domain.unit import Unit
from service.domain.voiding import every_voiding
from service.domain.world import World

BEARS_ON_USE = frozenset({"registered", "retagged", "use-set", "retired", "voided"}) | CARRIES_SITE
"""The kinds of events that a unit's use can be told from."""


class SetUse(msgspec.Struct, frozen=True):
    """A unit of occasional use, what said so, and since when it bites."""

    unit: Unit
    event: UseSet
    seq: int
    since: datetime


def occasional(rows: Iterable[Recorded], as_at: datetime, world: World) -> Iterator[SetUse]:
    """Find the units of a kin that are of occasional use at a moment; a component is no unit of its own (R51)."""
    every = list(rows)
    facts = place_all(every, every_voiding(every), world).facts
    for known in prepare(every, (), world).units:
        unit = _left(known, as_at, world)
        if known.start.at <= as_at and unit.use == "occasional" and not unit.retired and unit.fitted_to is None:
            _, event, seq, since = max(_biting(facts[unit.unit], as_at, world), key=itemgetter(0))
            yield SetUse(unit, event, seq, since)


def _left(known: UnitFacts, as_at: datetime, world: World) -> Unit:
    unit = known.start.unit
    for fact in known.facts:
        if fact.at > as_at:
            break
        unit = signalled(unit, fact) if isinstance(fact, Signal) else meant(unit, fact, world)
    return unit


def _biting(facts: Iterable[Fact], as_at: datetime, world: World) -> Iterator[tuple[Key, UseSet, int, datetime]]:
    """Give what set occasional use and bites: not before its receipt (R50); each with its place in the fold."""
    for fact in facts:
        event, since = fact.event, max(fact.at, fact.recorded.received_at.astimezone(UTC))
        if not isinstance(event, UseSet) or event.use != "occasional":
            continue
        if since <= as_at and authorised(event.use, fact, world):
            yield fact.key, event, fact.recorded.seq, since
