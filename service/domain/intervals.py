"""Intervals: the overall standing of a unit through time, out of what each rule says.

Phase decides scope first; then the worst of the rules counts.
"""

from collections.abc import Sequence
from datetime import datetime, timedelta

import msgspec
from msgspec.structs import replace

from service.domain.rules import RULES, Rule, recall
from service.domain.scene import Scene
from service.domain.standing import BREACHES, FOREVER, SCALE, WORSE, Span, Standing
from service.domain.unit import Phase, Unit, phase
from service.domain.withdrawal import withdrawn
from service.domain.world import World

OUT = "0" * len(RULES)
STOP = frozenset({"do-not-use"})
COMPONENT = "component"
"""Stands for the digits of a unit that is fitted to another: it is no unit in rates (R51)."""
MOMENT = timedelta(microseconds=1)


class Interval(msgspec.Struct, gc=False, frozen=True, array_like=True):
    """One span of overall standing.

    `rules` is one digit a rule, in the order of RULES: its standing's place on the scale.
    """

    since: datetime
    until: datetime
    site: str
    model: str
    phase: Phase
    in_scope: bool
    standing: Standing = "out-of-scope"
    do_not_use: bool = False
    rules: str = OUT
    reasons: tuple[str, ...] = ()

    def same(self, other: "Interval") -> bool:
        """Say whether two intervals differ in time only."""
        return msgspec.structs.astuple(self)[2:] == msgspec.structs.astuple(other)[2:]


def in_scope(unit: Unit, scene: Scene) -> bool:
    """Say whether the unit counts in the rates: issued, stationed, or withdrawn but still in someone's hands."""
    if unit.fitted_to is not None:
        return False
    now = phase(unit)
    if now == "quarantined":
        return unit.where != "in-store"
    return now in {"issued", "stationed"} or (now == "in-store" and scene.terms.in_store)


def forbidding(unit: Unit) -> tuple[str, ...]:
    """Name the reasons that forbid use whatever the scope."""
    gone = {phase(unit)} & {"missing", "at-service", "retired"}
    return tuple(sorted({*withdrawn(unit), *gone}))


class Memory:
    """What every rule said last of one unit, from a moment on without an end, and all that it went by.

    A rule speaks of all time to come as long as nothing happens: what it said holds for later moments until something
    it goes by changes. What it says by looking at uses to come is never kept.
    """

    def __init__(self) -> None:
        self._said: dict[str, tuple[tuple[object, ...], tuple[Span, ...]]] = {}

    def ask(self, unit: Unit, scene: Scene) -> list[tuple[Span, ...]]:
        """Give what every rule says from `since` on, and perhaps of moments before it and after `until`."""
        ahead = scene if scene.until == FOREVER else scene.without_end()
        basis = (scene.terms, scene.world.turn(scene.since))
        return [self._one(rule, unit, ahead, basis) for rule in RULES]

    def _one(self, rule: Rule, unit: Unit, ahead: Scene, basis: tuple[object, ...]) -> tuple[Span, ...]:
        went_by = (*rule.goes_by(unit, ahead), *basis)
        known = self._said.get(rule.name)
        if known is not None and known[0] == went_by:
            return known[1]
        ahead.looked_ahead = False
        spans = rule.judge(unit, ahead)
        if not ahead.looked_ahead:
            self._said[rule.name] = (went_by, spans)
        return spans


def judge(unit: Unit, scene: Scene) -> dict[str, tuple[Span, ...]]:
    """Ask every rule about [since, until), as if the unit were in scope."""
    return {rule.name: rule.judge(unit, scene) for rule in RULES}


def stretch(unit: Unit, scene: Scene, memory: Memory | None = None) -> list[Interval]:
    """Give the unit's overall standing over [since, until); `memory` is of the same unit at moments before."""
    where = (unit.site, unit.model, phase(unit))
    if not in_scope(unit, scene):
        return _out_of_scope(unit, scene, where)
    spans = (memory or Memory()).ask(unit, scene)
    later = {span.since for rule in spans for span in rule[1:] if scene.since < span.since < scene.until}
    cuts = [scene.since, *sorted(later)]
    return [
        _overall(Interval(since, until, *where, in_scope=True), [_at(rule, since) for rule in spans])
        for since, until in zip(cuts, (*cuts[1:], scene.until), strict=True)
    ]


def _out_of_scope(unit: Unit, scene: Scene, where: tuple[str, str, Phase]) -> list[Interval]:
    """Say what speaks against a unit whatever its scope: beside what is held, a stop-use recall (R10).

    Of a component, whose condition counts for the unit it serves, every breach of the recall rule does.
    """
    held = forbidding(unit)
    digits, speaking = (OUT, STOP) if unit.fitted_to is None else (COMPONENT, BREACHES)
    out = Interval(scene.since, scene.until, *where, in_scope=False, do_not_use=bool(held), rules=digits, reasons=held)
    if not scene.world.recalls:
        return [out]
    spans = recall.judge(unit, scene)
    return [_spoken(out, span, (*held, *span.reasons) if span.standing in speaking else held) for span in spans]


def _spoken(out: Interval, span: Span, reasons: tuple[str, ...]) -> Interval:
    told = tuple(sorted(set(reasons)))
    return replace(out, since=span.since, until=span.until, do_not_use=bool(told), reasons=told)


def _at(spans: tuple[Span, ...], moment: datetime) -> Span:
    if len(spans) == 1:
        return spans[0]
    return next(span for span in reversed(spans) if span.since <= moment)


def _overall(interval: Interval, spans: Sequence[Span]) -> Interval:
    """Let the worst rule decide; where no rule has anything to judge the unit is in date."""
    places = [WORSE[span.standing] for span in spans]
    standing = SCALE[max(*places, WORSE["in-date"])]
    reasons = {reason for span in spans if span.standing in BREACHES for reason in span.reasons}
    return replace(
        interval,
        standing=standing,
        do_not_use=standing in BREACHES,
        rules="".join(map(str, places)),
        reasons=tuple(sorted(reasons)),
    )


def not_ready(unit: Unit, at: datetime, world: World, memory: Memory | None = None) -> tuple[str, ...]:
    """Name what would speak against the unit, were it issued at the moment; nothing means that it is ready.

    `memory` is of the same unit at moments before.
    """
    owed = tuple(breach for breach in unit.breaches if breach.reason != "used-without-check")
    issued = replace(unit, where="issued", breaches=owed)
    scene = Scene(at, at + MOMENT, world, issued, foresees=False)
    spans = (_at(spans, at) for spans in (memory or Memory()).ask(issued, scene))
    judged = {reason for span in spans if span.standing in BREACHES for reason in span.reasons}
    return tuple(sorted(judged | set(forbidding(unit))))
