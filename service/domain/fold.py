"""The fold: facts in the order of truth turned into a unit's state and its standing through time.

A fold can stop after any fact and go on later from what it left (`Folded`), with the same result as one that starts
from nothing.
"""

from collections.abc import Iterable, Iterator, Sequence
from collections.abc import Set as AbstractSet
from datetime import date, datetime

import msgspec
from msgspec.structs import replace

from service.domain.coming import Coming, coming
from service.domain.conflict import Conflict, Contradiction
from service.domain.custody import by_another_site, elsewhere, seen
from service.domain.facts import Fact, Signal, day_of
from service.domain.finding import Finding, found_in
from service.domain.fitting import renamed
from service.domain.intervals import MOMENT, Interval, Memory, not_ready, stretch
from service.domain.kinds.registered import Registered
from service.domain.kinds.worn import Worn
from service.domain.recall.listing import APART
from service.domain.scene import Scene
from service.domain.standing import BEGINNING, FOREVER
from service.domain.stays import Stay, Stays
from service.domain.suspicion import lies_before
from service.domain.unit import Unit
from service.domain.uses import Uses, against, told_by
from service.domain.wearing import Use, pass_time, wear_on
from service.domain.world import World


class Folded(msgspec.Struct, gc=False, frozen=True, array_like=True):
    """A unit folded up to `at`, last `spoken` of by then, echoes apart.

    `run` is the interval that holds just before, from its start on. `uses` are all those from `uses_from` on: they may
    still turn out not to be covered. `ahead` is the interval that holds from then on, as long as nothing happens, up to
    where a version begins; `asked` is what the world was asked of the time up to there, and `later` what else it was
    asked of the time to come. `hand` is the stay in a hand that goes on.
    """

    unit: Unit
    at: datetime
    spoken: datetime
    run: Interval | None = None
    uses: tuple[Use, ...] = ()
    ahead: Interval | None = None
    asked: tuple[str, ...] = ()
    later: tuple[str, ...] = ()
    hand: Stay | None = None

    @property
    def told_from(self) -> datetime:
        """Give the instant from which on intervals are told again when the fold goes on."""
        return BEGINNING if self.run is None else self.run.since

    @property
    def uses_from(self) -> datetime:
        """Give the instant from which on uses are told again when the fold goes on."""
        return min((use.at for use in self.uses), default=self.at)


class Stop(msgspec.Struct, gc=False, frozen=True):
    """A unit as it was left on the way, and what was asked of the world by then."""

    folded: Folded
    asked: frozenset[str]


class Story(msgspec.Struct, gc=False, frozen=True):
    """What a fold tells: where it stopped, intervals (the last has no end), uses up to there, contradictions, findings.

    Intervals, and the lapses of uses that go on, are told as they will be if nothing more happens; so are the uses
    `coming`. Of the stays those that ended on the way or began there; those `gone` are none, and may have been told
    before.
    """

    folded: Folded
    intervals: tuple[Interval, ...]
    uses: tuple[Use, ...]
    conflicts: tuple[Contradiction, ...]
    findings: tuple[Finding, ...] = ()
    stops: tuple[Stop, ...] = ()
    stays: tuple[Stay, ...] = ()
    gone: tuple[Stay, ...] = ()
    coming: Coming = Coming()


class Begun(msgspec.Struct, gc=False, frozen=True):
    """A unit at its first registration, with what was said of it for the time before; `stays` are those that ended."""

    folded: Folded
    conflicts: tuple[Contradiction, ...]
    findings: tuple[Finding, ...]
    stays: tuple[Stay, ...] = ()


def begin(first: Fact, before: Iterable[Fact | Signal], world: World) -> Begun:
    """Start a unit at its first registration; facts dated before count as if it had been there, in store.

    Who wore it before is told aside: as a use it is counted and judged from its registration on.
    """
    if not isinstance(first.event, Registered):
        raise TypeError(first.event.kind)
    every = (*before, first)
    own = [fact for fact in every if isinstance(fact, Fact)]
    began, spoken = min(fact.at for fact in own), max(fact.as_of for fact in own if not fact.echo)
    unit = replace(first.event.born(first, world), began=began)
    stays, worn = Stays(unit, None, news=False), list[Use]()
    conflicts: list[Contradiction] = []
    findings: list[Finding] = []
    now = None
    for fact in every:
        if now is not None and fact.at > now:
            unit = wear_on(unit, Scene(now, fact.at, world, unit))
        now = fact.at
        if isinstance(fact, Signal):
            unit = signalled(unit, fact)
            continue
        contradicting = contradictions(unit, fact, world)
        was, unit = unit, meant(unit, fact, world)
        if fact is not first and unit.parts is not was.parts:
            world.ask_again([APART])
        conflicts += contradicting
        findings += found_in(fact, was, unit, contradicting)
        stays.see(unit, now, day_of(fact))
        use = told_by(unit, fact)
        worn += () if use is None else (use,)
    folded = Folded(unit, first.at, spoken, uses=tuple(worn), hand=stays.hand)
    return Begun(folded, tuple(conflicts), tuple(findings), stays.ended)


def fold(start: Folded, facts: Iterable[Fact | Signal], world: World, stops: AbstractSet[int] = frozenset()) -> Story:
    """Fold the facts, given in order and all later than what `start` has folded.

    From a mark (nothing is `ahead` of it) all stays are told that are open: they may have been told to end behind it.
    Before the facts at the places `stops` it is noted how the unit was left. They begin later than what goes before.
    """
    unit, now, spoken = start.unit, start.at, start.spoken
    told: list[Interval] = [] if start.run is None else [start.run]
    uses = Uses(start.uses)
    standing = Standing(start)
    stays = Stays(unit, start.hand, news=start.ahead is not None)
    conflicts: list[Contradiction] = []
    findings: list[Finding] = []
    noted: list[Stop] = []
    for place, fact in enumerate(facts):
        left = _left(unit, now, spoken, told, uses, stays) if place in stops else None
        if fact.at > now:
            for after, scene, counted in passing(unit, now, fact.at, world):
                intervals = standing.over(after, scene)
                uses.add(counted, intervals)
                uses.lapse(after)
                tell(told, intervals)
                unit = after
            now = fact.at
        if left is not None:
            noted.append(Stop(left, frozenset(world.asked)))
        worn = isinstance(fact, Fact) and isinstance(fact.event, Worn)
        forbidden = against(standing.just_before(unit, now, world)) if worn else ()
        standing.ahead = None
        if isinstance(fact, Signal):
            unit = signalled(unit, fact)
            continue
        spoken = spoken if fact.echo else max(spoken, fact.as_of)  # an echo may come before its day has begun
        contradicting = contradictions(unit, fact, world, standing.memory)
        was, unit = unit, meant(unit, fact, world)
        conflicts += contradicting
        findings += found_in(fact, was, unit, contradicting)
        stays.see(unit, now, day_of(fact))
        uses.wear(unit, fact, forbidden)
    left = _left(unit, now, spoken, told, uses, stays)
    to_come = world.fresh()  # what is asked of it counts only once it has come
    standing.memory = Memory()
    cut, soon, scenes = now, frozenset[str](), list[Scene]()
    for after, scene, _ in passing(unit, now, FOREVER, to_come):
        uses.lapse(after)
        tell(told, standing.over(after, scene))
        scenes.append(scene)
        cut, soon = (cut, soon) if soon else (scene.until, frozenset(to_come.asked))
    ahead = next(one for one in reversed(told) if one.since <= now)
    ahead = replace(ahead, until=min(ahead.until, cut))
    folded = replace(left, ahead=ahead, asked=tuple(sorted(soon)), later=tuple(sorted(to_come.asked - soon)))
    told_of = (tuple(told), tuple(uses.made), tuple(conflicts), tuple(findings), tuple(noted))
    return Story(folded, *told_of, stays=stays.told(), gone=stays.gone, coming=coming(scenes, told))


def _left(unit: Unit, now: datetime, spoken: datetime, told: Sequence[Interval], uses: Uses, stays: Stays) -> Folded:
    """Give how a unit is left, without what is ahead."""
    return Folded(unit, now, spoken, told[-1] if told else None, uses.open(unit, now), hand=stays.hand)


class Standing:
    """The standing of a unit as time passes.

    `ahead` is what was said of the time to come, until something happens; what that rests on is asked again with it.
    """

    def __init__(self, start: Folded) -> None:
        self.ahead, self._asked, self._left_at = start.ahead, start.asked, start.at
        self.memory = Memory()

    def over(self, unit: Unit, scene: Scene) -> list[Interval]:
        """Give the intervals of a stretch of time."""
        if self.ahead is not None and scene.until <= self.ahead.until:
            scene.world.ask_again(self._asked)
            return [replace(self.ahead, since=scene.since, until=scene.until)]
        return stretch(unit, scene, self.memory)

    def just_before(self, unit: Unit, at: datetime, world: World) -> Interval:
        """Give how the unit stands at a moment, before what is to happen there, be that a use that time brings.

        Where no time has passed since it was left, nothing of what was ahead has come: none of that was asked.
        """
        if self.ahead is not None and self._left_at < at < self.ahead.until:
            world.ask_again(self._asked)
            return self.ahead
        return stretch(unit, Scene(at, at + MOMENT, world, unit, foresees=False), self.memory)[0]


def passing(unit: Unit, since: datetime, until: datetime, world: World) -> Iterator[tuple[Unit, Scene, Iterator[Use]]]:
    """Let time pass, cut where a version of the reference data begins: the unit after each stretch, and its uses."""
    cuts = world.cuts(unit, since, until)
    for start, end in zip((since, *cuts), (*cuts, until), strict=True):
        scene = Scene(start, end, world, unit)
        unit, uses = pass_time(unit, scene)
        yield unit, scene, uses


def contradictions(unit: Unit, fact: Fact, world: World, memory: Memory | None = None) -> tuple[Contradiction, ...]:
    """Say what of the fact contradicts the history before it. An echo says nothing new."""
    if fact.echo:
        return ()
    return tuple(Contradiction(fact.event.id, conflict) for conflict in _conflicts(unit, fact, world, memory))


def _conflicts(unit: Unit, fact: Fact, world: World, memory: Memory | None) -> Iterator[Conflict]:
    event = fact.event
    if lies_before(fact, unit.registered_at):
        yield Conflict("before-registration")
    if unit.retired and not event.revives:
        yield Conflict(event.after_retirement)
    else:
        yield from event.contradicts(unit, fact, world)
        yield from elsewhere(unit, event.site) if event.shows_site() else ()
        yield from by_another_site(unit, world.key(fact.recorded.key)) if event.disposes else ()
    reasons = not_ready(unit, fact.at, world, memory) if event.wants_ready else ()
    if reasons:
        yield Conflict("not-ready-to-issue", reasons)


def meant(unit: Unit, fact: Fact, world: World) -> Unit:
    """Give the unit after the fact. After its retirement nothing changes but what it is called."""
    if unit.retired and not fact.event.names:
        return unit
    if unit.missing and not fact.echo and fact.event.handles():
        unit = seen(unit, fact.at, fact.event.id)
    after = fact.event.happened(unit, fact, world)
    if after.parts is unit.parts and _days(after) == _days(unit):
        return after
    registered = fact.event.id != unit.unit  # what its registration states was there before nothing was said of it
    once = (unit, *renamed(unit, after, fact, world))
    was_under = {recall for was in once for recall in world.recalls_of(was, fact.at, registered=registered)}
    gone = sorted(was_under.difference(after.recalled))
    return replace(after, recalled=(*after.recalled, *gone)) if gone else after


def _days(unit: Unit) -> tuple[date | None, date | None]:
    """Give the days by which a recall may speak of a unit itself."""
    return unit.made_on, unit.acquired_on


def signalled(unit: Unit, signal: Signal) -> Unit:
    """Give the unit after something that is no event of it takes effect."""
    if signal.name == "receipt":
        return _received(unit, signal)
    if signal.name == "report":
        others = tuple(ref for ref in unit.unresolved if ref != signal.ref)
        return replace(unit, unresolved=(*others, signal.ref) if signal.reasons else others)
    part = str(signal.ref)
    components = {ref: reasons for ref, reasons in unit.components.items() if ref != part}
    return replace(unit, components={**components, part: signal.reasons} if signal.reasons else components)


def _received(unit: Unit, signal: Signal) -> Unit:
    """Let a use bite that was set with an event received only now, unless a newer one bites already."""
    for nth, waiting in enumerate(unit.uses_waiting):
        if waiting.event == signal.ref:
            return replace(unit, use=waiting.use, uses_waiting=unit.uses_waiting[nth + 1 :])
    return unit


def tell(told: list[Interval], intervals: Iterable[Interval]) -> None:
    """Add intervals, each joined to the one before where they say the same."""
    for interval in intervals:
        if told and told[-1].until == interval.since and told[-1].same(interval):
            told[-1] = replace(told[-1], until=interval.until)
        else:
            told.append(interval)
