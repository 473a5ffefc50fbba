"""A kin: tags whose histories hang together, folded as one.

A kin is folded on from where it was left (`Snapshot`). Whatever reaches back, such as a late event, a voiding, a change
of identity or of a component's condition, has it folded from its beginning.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import UTC, datetime
from uuid import UUID

import msgspec
from msgspec.structs import replace

from service.domain import stays
from service.domain.component import conditions, is_component, speaks_otherwise
from service.domain.conflict import Conflict, Contradiction
from service.domain.event import AssetEvent, Event
from service.domain.facts import Fact, Key, Signal, day_of, instant, place, signal
from service.domain.finding import CONFLICTING, Finding, joined
from service.domain.fold import Folded, Story, begin, fold
from service.domain.folding import Folding
from service.domain.identity import KINDS, Identity
from service.domain.kinds.released import Released
from service.domain.kinds.use_set import UseSet
from service.domain.kinship import hangs_on
from service.domain.label import normal
from service.domain.marking import later
from service.domain.placing import SITELESS, Placed, place_all, rough, shows_by, siteless, with_takings
from service.domain.recall.listing import APART
from service.domain.recall.once_apart import may_be_before, once_apart
from service.domain.recorded import Recorded
from service.domain.snapshot import Asked, Mark, Snapshot
from service.domain.stays import Stay
from service.domain.suspicion import echoes, watch, with_echoes
from service.domain.swaps import serials_moved
from service.domain.voiding import every_voiding
from service.domain.world import World

UNRESOLVED = ("unresolved-report",)
Spoken = dict[UUID, list[Signal]]
"""What units hear from the components that serve them."""


class Report(msgspec.Struct, gc=False, frozen=True):
    """A report of a failure that could not be accepted: it counts from its receipt until it is settled."""

    id: UUID
    tag: str
    received_at: datetime
    settled_at: datetime | None


class UnitFacts(msgspec.Struct, gc=False, frozen=True):
    """A unit at its first registration, everything that followed, in order, and what is found apart from that.

    `watch` is that of what was by then, `stays` are those that had ended. `day` began the day of that registration,
    where it states a day alone.
    """

    start: Folded
    key: Key
    facts: tuple[Fact | Signal, ...]
    findings: tuple[Finding, ...] = ()
    watch: datetime | None = None
    stays: tuple[Stay, ...] = ()
    day: datetime | None = None


class Prepared(msgspec.Struct, gc=False, frozen=True):
    """A kin with its identity settled and its facts in order; `owners` says which unit each tag means in the end.

    `watch` is the moment up to which good news still to come could make a failure's clock suspect, `days` when the last
    day began (UTC) that was told alone and without a site.
    """

    units: tuple[UnitFacts, ...]
    conflicts: tuple[Contradiction, ...]
    owners: dict[str, UUID]
    watch: datetime | None = None
    days: datetime | None = None


class KinStory(msgspec.Struct, gc=False, frozen=True):
    """The stories of a kin's units, in order of unit; `resumed` says that they begin where a snapshot ended.

    `marks` are those made on the way, in order; `asked` is what was asked to tell it.
    """

    stories: tuple[Story, ...]
    conflicts: tuple[Contradiction, ...]
    tags: tuple[str, ...]
    snapshot: Snapshot | None
    resumed: bool
    marks: tuple[Mark, ...] = ()
    asked: Asked = Asked()


def resume(snapshot: Snapshot, rows: Sequence[Recorded], tags: tuple[str, ...], world: World) -> KinStory | None:
    """Fold new rows on from the snapshot; None where something in them reaches back."""
    if not all(_goes_on(row.event, snapshot) for row in rows):
        return None
    placed = [place(row, None, world) for row in rows]
    world.asked.update(ref for row in rows for ref in hangs_on(row.event))
    if snapshot.watch is not None and any(not fact.event.adverse() and fact.at <= snapshot.watch for fact in placed):
        return None
    mine = [_of_unit(left, placed, snapshot, world) for left in snapshot.left]
    if any(facts and facts[0].key <= snapshot.key for facts in mine):
        return None
    if any(shows_by(fact, snapshot.days) for fact in placed):
        return None
    folding = Folding(snapshot, world)
    stories = [folding.fold(left, facts) for left, facts in zip(snapshot.left, mine, strict=True)]
    if any(speaks_otherwise(left, story) for left, story in zip(snapshot.left, stories, strict=True)):
        return None
    after = replace(folding.after(stories, mine), watch=later(snapshot.watch, watch(placed)))
    conflicts = tuple(found for story in stories for found in story.conflicts)
    return KinStory(
        tuple(stories), conflicts, tags, after, resumed=True, marks=tuple(folding.marks), asked=folding.asked()
    )


def _of_unit(left: Folded, placed: Iterable[Fact], snapshot: Snapshot, world: World) -> tuple[Fact | Signal, ...]:
    """Give what is new of one unit, in order, with the echoes and the receipts."""
    mine = [fact for fact in placed if snapshot.owners[fact.event.asset] == left.unit.unit]
    return _in_order([*mine, *echoes(mine, left.unit.registered_at, world)], _receipts(mine))


def lengthened(before: KinStory, after: KinStory) -> KinStory:
    """Give the story of a kin with what follows it: `after` was folded on from where `before` ended."""
    earlier = {story.folded.unit.unit: story for story in before.stories}
    stories = tuple(_joined(earlier[story.folded.unit.unit], story) for story in after.stories)
    return replace(
        after,
        stories=stories,
        resumed=before.resumed,
        marks=(*before.marks, *after.marks),
        asked=before.asked.joined(after.asked),
    )


def _joined(before: Story, after: Story) -> Story:
    begins, uses_from = after.intervals[0].since, before.folded.uses_from
    return replace(
        after,
        intervals=(*(one for one in before.intervals if one.since < begins), *after.intervals),
        uses=(*(use for use in before.uses if use.at < uses_from), *after.uses),
        findings=joined((*before.findings, *after.findings)),
        stays=stays.joined(before.stays, after.stays, after.gone),
        gone=(*before.gone, *after.gone),
    )


def _goes_on(event: Event, snapshot: Snapshot) -> bool:
    """Say whether an event can simply follow: about a unit of the kin, at a plain instant, changing no identity."""
    if not isinstance(event, AssetEvent) or isinstance(event, KINDS) or event.asset not in snapshot.owners:
        return False
    if isinstance(event, Released) and event.voiding is not None:
        return False
    serials = {normal(left.unit.serial) for left in snapshot.left if left.unit.fitted_to is not None}
    if not serials.isdisjoint(serials_moved(event)):
        return False
    if any(may_be_before(event, left.unit) for left in snapshot.left):
        return False
    return event.occurred_at is not None or event.site is not None


def fold_kin(rows: Iterable[Recorded], reports: Sequence[Report], world: World) -> KinStory:
    """Fold a kin from its beginning."""
    prepared = prepare(rows, reports, world)
    tags, units = tuple(sorted(prepared.owners)), prepared.units
    if not units:
        return KinStory((), prepared.conflicts, tags, None, resumed=False, asked=Asked(frozenset(world.asked)))
    start = Snapshot(
        tuple(unit.start for unit in units),
        prepared.owners,
        max(unit.key for unit in units),
        units[0].watch,
        prepared.days,
    )
    folding = Folding(start, world)
    stories = [with_found(unit, folding.fold(unit.start, unit.facts)) for unit in units]
    conflicts = (*prepared.conflicts, *(found for story in stories for found in story.conflicts))
    snapshot = replace(folding.after(stories, [unit.facts for unit in units]), watch=prepared.watch)
    return KinStory(
        tuple(stories), conflicts, tags, snapshot, resumed=False, marks=tuple(folding.marks), asked=folding.asked()
    )


def told_of(unit: UnitFacts, world: World) -> Story:
    """Fold a unit from its beginning, with all that is found of it."""
    return with_found(unit, fold(unit.start, unit.facts, world))


def with_found(unit: UnitFacts, story: Story) -> Story:
    """Add to a unit's story what is found of it apart from its fold, and what had ended as it began."""
    findings = joined((*unit.findings, *story.findings))
    return replace(story, findings=findings, stays=stays.joined(unit.stays, story.stays))


def with_apart(
    units: Iterable[UnitFacts], placed: Placed, rows: Iterable[Recorded], world: World
) -> tuple[UnitFacts, ...]:
    """Add what is found of a unit apart from its fold: serials known already, and voidings without effect."""
    found: dict[UUID, list[Finding]] = {}
    for unit, known in placed.identity.registrations.items():
        for fact in known[1:]:
            found.setdefault(unit, []).append(_conflicting(fact.event, fact.at, "serial-known", placed.home(unit)))
    if placed.useless:
        voidings = {row.event.id: row.event for row in rows}
        for voiding, unit in placed.useless.items():
            event = voidings[voiding]
            at = instant(event, None, world)
            found.setdefault(unit, []).append(_conflicting(event, at, "own-adverse-event", placed.home(unit)))
    return tuple(
        replace(unit, findings=(*unit.findings, *found.get(unit.start.unit.unit, ()))) if found else unit
        for unit in units
    )


def _conflicting(event: Event, at: datetime, code: str, home: str) -> Finding:
    return Finding(at, CONFLICTING, event.id, event.site or home, event.by, (code,))


def prepare(rows: Iterable[Recorded], reports: Sequence[Report], world: World) -> Prepared:
    """Put a kin in order: its events with the voidings that name them, and the reports about its tags."""
    every = list(rows)
    if once_apart(every):
        world.ask_again([APART])
    days = list(siteless(every))
    if any(row.event.adverse() for row in days):
        world.ask_again([SITELESS])
    taken_back = every_voiding(every)
    placed = place_all(every, taken_back, world)
    identity = placed.identity
    facts: dict[UUID, list[Fact]] = {}
    for unit, known in placed.facts.items():
        echoed = with_echoes(known, identity.registrations[unit][0].at, world)
        facts[unit] = with_takings(echoed, every, taken_back, world)
    units, early = _units(facts, _reported(reports, identity), identity, world)
    useless = (Contradiction(event, Conflict("own-adverse-event")) for event in placed.useless)
    serials = (Contradiction(event, Conflict("serial-known")) for event in identity.known_serials())
    return Prepared(
        with_apart(units, placed, every, world),
        (*useless, *serials, *early),
        {tag: owner for tag in identity.tags() if (owner := identity.newest(tag)) is not None},
        watch(fact for known in facts.values() for fact in known),
        max(map(rough, days), default=None),
    )


def _units(
    facts: Mapping[UUID, list[Fact]], signals: dict[UUID, list[Signal]], identity: Identity, world: World
) -> tuple[tuple[UnitFacts, ...], tuple[Contradiction, ...]]:
    """Begin each unit and order what follows, and give what contradicts already by then."""
    spoken = _conditions(facts, signals, identity, world)
    begun = {
        unit: _begun(unit, facts[unit], [*signals.get(unit, ()), *spoken.get(unit, ())], identity, world)
        for unit in sorted(facts)
    }
    return tuple(unit for unit, _ in begun.values()), tuple(found for _, early in begun.values() for found in early)


def _begun(
    unit: UUID, facts: list[Fact], signals: Iterable[Signal], identity: Identity, world: World
) -> tuple[UnitFacts, tuple[Contradiction, ...]]:
    first = identity.registrations[unit][0]
    every = _in_order(facts, [*signals, *_receipts(facts)])
    begun = begin(first, (one for one in every if one.key < first.key), world)
    after = tuple(one for one in every if one.key > first.key)
    by_then = watch(one for one in every if isinstance(one, Fact) and one.key <= first.key)
    found = (begun.findings, by_then, begun.stays, day_of(first))
    return UnitFacts(begun.folded, first.key, after, *found), begun.conflicts


def _conditions(
    facts: Mapping[UUID, list[Fact]], signals: Mapping[UUID, list[Signal]], identity: Identity, world: World
) -> Spoken:
    """Say what components say to the units they serve, which may be components, too.

    Each is told again that hears something new, as often as they are fitted in each other.
    """
    components = [unit for unit in sorted(facts) if is_component(unit, identity)]
    spoken: Spoken = {}
    said: dict[UUID, list[tuple[UUID, Signal]]] = {}
    changed = components
    for _ in components:
        for unit in changed:
            heard = [*signals.get(unit, ()), *spoken.get(unit, ())]
            begun, _early = _begun(unit, facts[unit], heard, identity, world.fresh())
            story = fold(begun.start, begun.facts, world.fresh())
            said[unit] = [*conditions(story, identity, facts)]
        before, spoken = spoken, {}
        for host, condition in (one for unit in components for one in said[unit]):
            spoken.setdefault(host, []).append(condition)
        changed = [unit for unit in components if spoken.get(unit) != before.get(unit)]
    return spoken


def _in_order(facts: Iterable[Fact], signals: Iterable[Signal]) -> tuple[Fact | Signal, ...]:
    return tuple(sorted([*facts, *signals], key=lambda one: one.key))


def _receipts(facts: Iterable[Fact]) -> Iterator[Signal]:
    """Give the receipts for which an occasional use that was set waits (R50)."""
    for fact in facts:
        received_at = fact.recorded.received_at
        if isinstance(fact.event, UseSet) and fact.event.use == "occasional" and fact.at < received_at:
            yield signal(received_at.astimezone(UTC), "receipt", fact.event.id)


def _reported(reports: Iterable[Report], identity: Identity) -> dict[UUID, list[Signal]]:
    signals: dict[UUID, list[Signal]] = {}
    for report in reports:
        begins = signal(report.received_at, "report", report.id, UNRESOLVED)
        unit = identity.unit(report.tag, begins.key)
        if unit is None:
            continue
        mine = signals.setdefault(unit, [])
        mine.append(begins)
        if report.settled_at is not None:
            mine.append(signal(report.settled_at, "report", report.id))
    return signals
