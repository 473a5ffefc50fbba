"""The fold: facts in the order of truth turned into a unit's state and its standing through time.

A fold can stop after any fact and go on later from what it left (`Folded`), with the same result as one that starts
from nothing.
"""

from collections.abc import Iterable
from datetime import datetime

import msgspec
from msgspec.structs import replace

from service.domain.conflict import Conflict, Contradiction
from service.domain.custody import seen
from service.domain.facts import Fact, Signal
from service.domain.intervals import Interval, not_ready, stretch
from service.domain.kinds.registered import Registered
from service.domain.kinds.worn import Worn
from service.domain.scene import Scene
from service.domain.standing import FOREVER
from service.domain.unit import Unit
from service.domain.wearing import Use, pass_time
from service.domain.world import World


class Folded(msgspec.Struct, frozen=True):
    """A unit folded up to `at`. `run` is the interval that holds just before, from its very beginning."""

    unit: Unit
    at: datetime
    run: Interval | None = None


class Story(msgspec.Struct, frozen=True):
    """What a fold tells: where it stopped, intervals (the last has no end), uses and contradictions."""

    folded: Folded
    intervals: tuple[Interval, ...]
    uses: tuple[Use, ...]
    conflicts: tuple[Contradiction, ...]


def begin(fact: Fact, world: World) -> Folded:
    """Start a unit at its first registration."""
    if not isinstance(fact.event, Registered):
        raise TypeError(fact.event.kind)
    return Folded(fact.event.born(fact, world), fact.at)


def fold(start: Folded, facts: Iterable[Fact | Signal], world: World) -> Story:
    """Fold the facts, given in order and all later than what `start` has folded."""
    unit, now = start.unit, start.at
    told: list[Interval] = [] if start.run is None else [start.run]
    uses: list[Use] = []
    conflicts: list[Contradiction] = []
    for fact in facts:
        if fact.at > now:
            unit = _pass(unit, now, fact.at, world, told, uses)
            now = fact.at
        if isinstance(fact, Signal):
            unit = signalled(unit, fact)
            continue
        conflicts += [Contradiction(fact.event.id, found) for found in contradictions(unit, fact, world)]
        unit = meant(unit, fact, world)
        if isinstance(fact.event, Worn) and world.pre_use(unit, fact.at).count == "worn" and not unit.retired:
            uses.append(Use(fact.at, unit.site, covered=True, wearing=fact.event.id))
        uses = spoiled(uses, unit)
    folded = Folded(unit, now, told[-1] if told else None)
    _pass(unit, now, FOREVER, world, told, uses)
    return Story(folded, tuple(told), tuple(uses), tuple(conflicts))


def spoiled(uses: list[Use], unit: Unit) -> list[Use]:
    """Count a wearing as not covered once a breach has begun in it (R17, R18)."""
    events = {breach.event for breach in unit.breaches if breach.reason == "used-without-check"} - {None}
    if not events:
        return uses
    return [replace(use, covered=False) if use.wearing in events and use.wearing is not None else use for use in uses]


def contradictions(unit: Unit, fact: Fact, world: World) -> tuple[Conflict, ...]:
    """Say what of the fact contradicts the history before it. An echo says nothing new."""
    if fact.echo:
        return ()
    found = fact.event.contradicts(unit, fact, world)
    reasons = not_ready(unit, fact.at, world) if fact.event.wants_ready else ()
    found = (*found, Conflict("not-ready-to-issue", reasons)) if reasons else found
    early = () if fact.at >= unit.registered_at else (Conflict("before-registration"),)
    if unit.retired and not fact.event.revives:
        return (*early, *(found or (Conflict(fact.event.after_retirement),)))
    return (*early, *found)


def meant(unit: Unit, fact: Fact, world: World) -> Unit:
    """Give the unit after the fact. After its retirement only a registration changes anything."""
    if unit.retired and not fact.event.revives:
        return unit
    if unit.missing and not fact.echo and fact.event.handles():
        unit = seen(unit, fact.at, fact.event.id)
    return fact.event.happened(unit, fact, world)


def signalled(unit: Unit, signal: Signal) -> Unit:
    """Give the unit after a report or a component's condition begins or ends to count."""
    field = {"report": "unresolved", "component": "components_out"}[signal.name]
    others = tuple(ref for ref in getattr(unit, field) if ref != signal.ref)
    return replace(unit, **{field: (*others, signal.ref) if signal.bad else others})


def _pass(unit: Unit, since: datetime, until: datetime, world: World, told: list[Interval], uses: list[Use]) -> Unit:
    """Let time pass, cut where a version of the reference data begins."""
    cuts = world.cuts(unit, since, until)
    for start, end in zip((since, *cuts), (*cuts, until), strict=True):
        scene = Scene(start, end, world, unit)
        unit, counted = pass_time(unit, scene)
        uses += counted
        for interval in stretch(unit, scene):
            _tell(told, interval)
    return unit


def _tell(told: list[Interval], interval: Interval) -> None:
    """Add an interval, joined to the one before where they say the same."""
    if told and told[-1].until == interval.since and told[-1].same(interval):
        told[-1] = replace(told[-1], until=interval.until)
    else:
        told.append(interval)
