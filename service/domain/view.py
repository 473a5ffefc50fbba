"""The view of a unit: what an answer shows of it at a moment."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from heapq import merge
from itertools import takewhile
from typing import Any, NamedTuple

import msgspec

from service.domain.facts import Fact, Key, Signal
from service.domain.fold import Folded, meant, passing, signalled
from service.domain.intervals import MOMENT, Interval, judge, not_ready, stretch
from service.domain.rules import RULES
from service.domain.rules.thorough_examination import due_on
from service.domain.scene import Scene
from service.domain.standing import BREACHES, Span
from service.domain.unit import Unit, put_away
from service.domain.wearing import pass_time
from service.domain.world import World


class Moment(msgspec.Struct, frozen=True):
    """A unit at a moment, with its overall standing and what every rule says of it."""

    unit: Unit
    at: datetime
    overall: Interval
    rules: dict[str, Span]
    ready: tuple[str, ...]
    details: dict[str, dict[str, object]]


def at_moment(start: Folded, facts: Sequence[Fact | Signal], at: datetime, world: World) -> Moment:
    """Judge a unit at a moment: `facts` follow `start` in order; those after the moment do not count."""
    unit, now = start.unit, start.at
    for step in steps(start, takewhile(lambda fact: fact.at <= at, facts), world):
        unit, now = step.after, max(now, step.fact.at)
    unit = _passed(unit, now, at, world)
    scene = Scene(at, at + MOMENT, world, unit)
    unit, _ = pass_time(unit, scene)
    overall = stretch(unit, scene)[0]
    return Moment(
        unit,
        at,
        overall,
        {name: spans[0] for name, spans in judge(unit, scene).items()},
        not_ready(unit, at, world),
        {"thorough-examination": {"due": due_on(unit, scene)}, "pre-use-check": _cover(unit, at)},
    )


class Step(NamedTuple):
    """A fact, and the unit just before and just after it."""

    before: Unit
    fact: Fact | Signal
    after: Unit


def steps(start: Folded, facts: Iterable[Fact | Signal], world: World, aside: Iterable[Fact] = ()) -> Iterator[Step]:
    """Go through a unit's facts, which follow `start` in order.

    What stands `aside`, in any order, is gone through in its place, as if it counted, and leaves the unit as it was.
    """
    out = sorted(aside, key=_key)
    left_out = {fact.event.id for fact in out}
    unit, now = start.unit, start.at
    for fact in merge(facts, out, key=_key):
        before = _passed(unit, now, fact.at, world)
        now = max(now, fact.at)
        after = signalled(before, fact) if isinstance(fact, Signal) else meant(before, fact, world)
        yield Step(before, fact, after)
        unit = before if isinstance(fact, Fact) and fact.event.id in left_out else after


def _key(fact: Fact | Signal) -> Key:
    return fact.key


def _passed(unit: Unit, since: datetime, until: datetime, world: World) -> Unit:
    if until > since:
        for after, _, _ in passing(unit, since, until, world):
            unit = after
    return unit


def _cover(unit: Unit, at: datetime) -> dict[str, object]:
    """Say for whom and how long a check covers the unit now, and whether its holder needs one."""
    cover = unit.cover
    person = None if unit.holder is None else unit.holder.person
    if cover is None or cover.paused or not cover.since <= at < cover.until:
        return {"cover_until": None, "covered_wearer": None, "check_needed": True}
    needed = person is not None and person != cover.wearer
    return {"cover_until": cover.until, "covered_wearer": cover.wearer, "check_needed": needed}


def shown(moment: Moment) -> dict[str, Any]:
    """Give the members of an answer about one unit."""
    unit, overall = moment.unit, moment.overall
    worn = unit.last_wearer
    return {
        "tag": unit.tag,
        "model": unit.model,
        "serial": unit.serial,
        "site": unit.site,
        "use": unit.use,
        "phase": overall.phase,
        "place": unit.place,
        "holder": unit.holder,
        "last_wearer": None if worn is None else {"person": worn.person, "at": worn.at},
        "put_away": put_away(unit),
        "in_scope": overall.in_scope,
        "standing": overall.standing,
        "do_not_use": overall.do_not_use,
        "reasons": overall.reasons,
        "ready_to_issue": {"ready": not moment.ready, "reasons": moment.ready},
        "rules": {rule.name: _rule(rule.name, moment) for rule in RULES},
        "parts": _parts(unit),
    }


def _rule(name: str, moment: Moment) -> dict[str, object]:
    """Show what one rule says; out of scope by phase, every rule is."""
    span = moment.rules[name]
    if not moment.overall.in_scope:
        return {"standing": "out-of-scope", "reasons": (), **moment.details.get(name, {})}
    reasons = span.reasons if span.standing in BREACHES else ()
    return {"standing": span.standing, "reasons": reasons, **moment.details.get(name, {}), "source": span.source}


def _parts(unit: Unit) -> list[dict[str, object]]:
    return [
        {
            "position": position,
            "item": fitted.part.item,
            "lot": fitted.part.lot,
            "serial": fitted.part.serial,
            "fitted_at": fitted.at,
            "expected_change": None,
        }
        for position, fitted in sorted(unit.parts.items())
        if fitted.part is not None
    ]
