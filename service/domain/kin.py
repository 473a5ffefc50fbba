"""A kin: tags whose histories hang together, folded as one.

Most kins are one unit under one tag and are folded on from where they were left (`Snapshot`). Whatever reaches back,
such as a late event, a voiding, a second tag, a component or a report, has the kin folded from its beginning.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from uuid import UUID

import msgspec

from service.domain.calendar import day_start
from service.domain.conflict import Conflict, Contradiction
from service.domain.event import AssetEvent, Event
from service.domain.facts import (
    Fact,
    Key,
    Signal,
    Taking,
    clock_suspect,
    fact,
    instant,
    late_without_clock,
    signal,
)
from service.domain.fold import Folded, Story, begin, fold
from service.domain.identity import Identity, normal
from service.domain.kinds.filter_replaced import FilterReplaced
from service.domain.kinds.part_replaced import PartReplaced
from service.domain.kinds.registered import Registered
from service.domain.kinds.released import Released
from service.domain.kinds.retagged import Retagged
from service.domain.kinds.use_set import UseSet
from service.domain.recorded import Recorded
from service.domain.standing import FOREVER
from service.domain.unit import Unit
from service.domain.voiding import own, voidings
from service.domain.world import World

PLACING = frozenset({"registered", "received", "issued", "stationed", "returned", "found"})
COMPONENT_BAD = frozenset({"withdrawal", "recheck", "unresolved-report", "retired"})
JUDGED = frozenset({"checked", "examined"})
IDENTITY = (Registered, Retagged)


class Report(msgspec.Struct, frozen=True):
    """A report of a failure that could not be accepted: it counts from its receipt until it is settled."""

    id: UUID
    tag: str
    received_at: datetime
    settled_at: datetime | None


class Snapshot(msgspec.Struct, frozen=True):
    """Where the fold of a lone unit stopped: at `key`.

    Good news dated up to `watch` could make a failure's clock suspect: then the unit is folded anew.
    """

    folded: Folded
    key: Key
    watch: datetime | None = None


class KinStory(msgspec.Struct, frozen=True):
    """The stories of a kin's units, in order of unit; `resumed` says that they begin where the snapshot ended."""

    stories: tuple[Story, ...]
    conflicts: tuple[Contradiction, ...]
    tags: tuple[str, ...]
    snapshot: Snapshot | None
    resumed: bool


def resume(snapshot: Snapshot, rows: Sequence[Recorded], tags: tuple[str, ...], world: World) -> KinStory | None:
    """Fold new rows on from the snapshot; None where something in them reaches back."""
    before = snapshot.folded.unit
    if before.wearing is not None and world.pre_use(before, snapshot.folded.at).count == "worn":
        return None
    if not all(_goes_on(row.event, before) for row in rows):
        return None
    placed = [_placed(row, None, world) for row in rows]
    facts = sorted([*placed, *_echoes(placed, snapshot.folded.unit, world)], key=lambda fact: fact.key)
    if any(fact.key <= snapshot.key or (snapshot.watch and fact.at <= snapshot.watch) for fact in facts):
        return None
    story = fold(snapshot.folded, facts, world)
    after = Snapshot(story.folded, facts[-1].key if facts else snapshot.key, _watch(facts, snapshot.watch))
    return KinStory((story,), story.conflicts, tags, after, resumed=True)


def _goes_on(event: Event, unit: Unit) -> bool:
    """Say whether an event can simply follow: about this tag, at a plain instant, changing no identity."""
    if not isinstance(event, AssetEvent) or isinstance(event, IDENTITY) or event.asset != unit.tag:
        return False
    if isinstance(event, Released) and event.voiding is not None:
        return False
    return event.occurred_at is not None or event.site is not None


class UnitFacts(msgspec.Struct, frozen=True):
    """A unit at its first registration, and everything that followed, in order."""

    start: Folded
    key: Key
    facts: tuple[Fact | Signal, ...]


class Prepared(msgspec.Struct, frozen=True):
    """A kin with its identity settled and its facts in order; `lone` says that it can be folded on from a snapshot."""

    units: tuple[UnitFacts, ...]
    conflicts: tuple[Contradiction, ...]
    tags: tuple[str, ...]
    lone: bool


def prepare(rows: Iterable[Recorded], reports: Sequence[Report], world: World) -> Prepared:
    """Put a kin in order: its events with the voidings that name them, and the reports about its tags."""
    every = list(rows)
    taken_back = voidings(every)
    facts, own_voidings = _facts(every, taken_back, world)
    identity = Identity.of((fact for fact in facts if isinstance(fact.event, IDENTITY)), world)
    echoed = {unit: _with_echoes(list(known), world) for unit, known in _by_unit(facts, identity).items()}
    units = _in_order(echoed, _reported(reports, identity), identity, world)
    serials = (Contradiction(event, Conflict("serial-known")) for event in sorted(identity.known_serials))
    plain = len(units) == 1 and len(identity.tags()) == 1 and not reports
    return Prepared(
        tuple(units),
        (*own_voidings, *serials),
        identity.tags(),
        plain and units[0].start.unit.fitted_to is None and not any(row.event.kind == "voided" for row in every),
    )


def fold_kin(rows: Iterable[Recorded], reports: Sequence[Report], world: World) -> KinStory:
    """Fold a kin from its beginning."""
    prepared = prepare(rows, reports, world)
    stories = [fold(unit.start, unit.facts, world) for unit in prepared.units]
    conflicts = (*prepared.conflicts, *(found for story in stories for found in story.conflicts))
    return KinStory(
        tuple(stories),
        conflicts,
        prepared.tags,
        _snapshot(stories[0], prepared.units[0]) if prepared.lone else None,
        resumed=False,
    )


def _snapshot(story: Story, unit: UnitFacts) -> Snapshot | None:
    """Keep where a lone unit's fold stopped."""
    facts = [fact for fact in unit.facts if isinstance(fact, Fact)]
    return Snapshot(story.folded, facts[-1].key if facts else unit.key, _watch(facts, None))


def _facts(
    rows: Sequence[Recorded], taken_back: Mapping[UUID, Recorded], world: World
) -> tuple[list[Fact], list[Contradiction]]:
    """Place every event that counts, in fold order, and say which voidings are of no effect (R27)."""
    facts: list[Fact] = []
    useless: list[Contradiction] = []
    takings = _takings(rows, taken_back)
    sites = _sites(rows, taken_back, world)
    for row in rows:
        event = row.event
        if not isinstance(event, AssetEvent):
            continue
        voiding = taken_back.get(event.id)
        if voiding is not None and not event.adverse() and event.kind not in JUDGED:
            continue
        selfish = voiding is not None and own(voiding, row)
        place = _placed(row, _site_on(sites, event, world), world)
        taking = takings.get(event.voiding) if isinstance(event, Released) and event.voiding is not None else None
        if isinstance(event, UseSet) and place.at != instant(event, None, world) and _overtaken(row, rows, world):
            continue
        facts.append(
            msgspec.structs.replace(
                place, struck=voiding is not None, voided=voiding is not None and not selfish, taking=taking
            )
        )
        if selfish and voiding is not None and event.kind in JUDGED:
            useless.append(Contradiction(voiding.event.id, Conflict("own-adverse-event")))
    facts.sort(key=lambda fact: fact.key)
    return facts, useless


def _takings(rows: Sequence[Recorded], taken_back: Mapping[UUID, Recorded]) -> dict[UUID, Taking]:
    """Give, for every voiding in force, what a release may rest on."""
    known = {row.event.id: row for row in rows}
    takings: dict[UUID, Taking] = {}
    for original, voiding in taken_back.items():
        row = known.get(original)
        if row is not None and not own(voiding, row):
            moments = [moment for moment in (row.event.occurred_at, voiding.event.occurred_at) if moment is not None]
            later = max(moments, default=voiding.received_at)
            takings[voiding.event.id] = Taking(original, row.event.by, voiding.event.by, later)
    return takings


def _sites(
    rows: Sequence[Recorded], taken_back: Mapping[UUID, Recorded], world: World
) -> list[tuple[datetime, str, str]]:
    """List where each tag was seen: (moment, tag, site), for dates that name no site of their own."""
    return sorted(
        (instant(row.event, None, world), row.event.asset, row.event.site)
        for row in rows
        if isinstance(row.event, AssetEvent) and row.event.kind in PLACING
        if row.event.site is not None and row.event.id not in taken_back
    )


def _site_on(sites: Sequence[tuple[datetime, str, str]], event: AssetEvent, world: World) -> str | None:
    """Give the site a tag was at as a date began (UTC), else the first one known."""
    if event.occurred_on is None or event.site is not None:
        return None
    of_tag = [(moment, site) for moment, tag, site in sites if tag == event.asset]
    start = day_start(event.occurred_on, world.zone_on("", event.occurred_on))
    earlier = [site for moment, site in of_tag if moment <= start]
    return earlier[-1] if earlier else (of_tag[0][1] if of_tag else None)


def _placed(row: Recorded, site: str | None, world: World) -> Fact:
    event = row.event
    at = instant(event, site, world)
    if isinstance(event, UseSet) and event.use == "occasional":
        at = max(at, row.received_at)
    return fact(row, at)


def _overtaken(row: Recorded, rows: Iterable[Recorded], world: World) -> bool:
    """Say whether another use was set between the stamp of a use that waits for its receipt, and that receipt."""
    event = row.event
    own_key = fact(row, instant(event, None, world)).key
    return any(
        isinstance(other.event, UseSet)
        and other.event.id != event.id
        and own_key < _placed(other, None, world).key <= fact(row, row.received_at).key
        for other in rows
    )


def _by_unit(facts: Iterable[Fact], identity: Identity) -> dict[UUID, list[Fact]]:
    units: dict[UUID, list[Fact]] = {}
    for place in facts:
        unit = identity.unit(place.event.asset, place.key)
        if unit is not None:
            units.setdefault(unit, []).append(place)
    return units


def _with_echoes(facts: list[Fact], world: World) -> list[Fact]:
    """Add to a unit's facts the echoes of bad news whose clock is suspect (R8, R9)."""
    first = _first(facts)
    if first is None:
        return []
    echoes = _echoes(facts, begin(first, world).unit, world)
    return sorted([*facts, *echoes], key=lambda place: place.key)


def _echoes(facts: Sequence[Fact], unit: Unit, world: World) -> list[Fact]:
    good = [place.at for place in facts if not place.event.adverse() and not place.struck]
    return [
        msgspec.structs.replace(
            fact(place.recorded, place.recorded.received_at, echo=True), struck=place.struck, voided=place.voided
        )
        for place in facts
        if place.event.adverse() and _suspect(place, good, unit, world)
    ]


def _suspect(place: Fact, good: Sequence[datetime], unit: Unit, world: World) -> bool:
    row = place.recorded
    if clock_suspect(row, world.tolerance(row.event.site or unit.site, row.received_at)):
        return True
    if place.at < unit.registered_at:
        return True
    return late_without_clock(row, place.at) and any(place.at < moment <= row.received_at for moment in good)


def _watch(facts: Iterable[Fact], before: datetime | None) -> datetime | None:
    """Give the last receipt of bad news that stated no clock and came late, though nothing spoke against it so far."""
    watched = [
        place.recorded.received_at
        for place in facts
        if place.event.adverse() and not place.echo and late_without_clock(place.recorded, place.at)
    ]
    return max([*watched, *([before] if before else [])], default=None)


def _reported(reports: Iterable[Report], identity: Identity) -> dict[UUID, list[Signal]]:
    signals: dict[UUID, list[Signal]] = {}
    for report in reports:
        begins = signal(report.received_at, "report", report.id, bad=True)
        unit = identity.unit(report.tag, begins.key)
        if unit is None:
            continue
        own_signals = signals.setdefault(unit, [])
        own_signals.append(begins)
        if report.settled_at is not None:
            own_signals.append(signal(report.settled_at, "report", report.id, bad=False))
    return signals


def _in_order(
    facts: Mapping[UUID, list[Fact]], signals: dict[UUID, list[Signal]], identity: Identity, world: World
) -> list[UnitFacts]:
    """Order each unit's facts and signals; components first, since their condition counts for the unit they serve."""
    firsts = {unit: first for unit, known in facts.items() if (first := _first(known)) is not None}
    starts = {unit: begin(first, world) for unit, first in firsts.items()}
    ordered: dict[UUID, UnitFacts] = {}
    for unit in sorted(starts, key=lambda unit: (starts[unit].unit.fitted_to is None, unit)):
        rest: list[Fact | Signal] = [known for known in facts[unit] if known is not firsts[unit]]
        rest += signals.get(unit, [])
        ordered[unit] = UnitFacts(starts[unit], firsts[unit].key, tuple(sorted(rest, key=lambda known: known.key)))
        host = starts[unit].unit.fitted_to
        serves = None if host is None else identity.newest(host)
        if serves is not None:
            story = fold(starts[unit], ordered[unit].facts, world)
            for served, condition in _conditions(story, serves, firsts[unit].key, facts):
                signals.setdefault(served, []).append(condition)
    return [ordered[unit] for unit in sorted(ordered)]


def _first(facts: Sequence[Fact]) -> Fact | None:
    return next((known for known in facts if isinstance(known.event, Registered)), None)


def _conditions(
    story: Story, host: UUID, since: Key, facts: Mapping[UUID, list[Fact]]
) -> Iterator[tuple[UUID, Signal]]:
    """Turn a component's story into signals for the units it served: bad while it must not be used (R51)."""
    unit = story.folded.unit
    served: list[tuple[datetime, UUID | None]] = [(since[0], host)]
    for key, other in sorted(_moves(normal(unit.serial), facts), key=lambda move: move[0]):
        served.append((key[0], other))
    for (start, other), (end, _) in zip(served, [*served[1:], (FOREVER, None)], strict=True):
        bad = False
        for interval in story.intervals if other is not None else ():
            now = interval.until > start and any(reason in COMPONENT_BAD for reason in interval.reasons)
            if other is not None and now != bad and interval.since < end:
                yield other, signal(max(interval.since, start), "component", unit.unit, bad=now)
                bad = now
        if other is not None and bad and end < FOREVER:
            yield other, signal(end, "component", unit.unit, bad=False)


def _moves(serial: str, facts: Mapping[UUID, list[Fact]]) -> Iterator[tuple[Key, UUID | None]]:
    """Find where a part with the serial was put in, or taken out and not put back."""
    for unit, known in facts.items():
        for place in known:
            event = place.event
            if isinstance(event, FilterReplaced | PartReplaced):
                put, taken = (None if part is None else part.serial for part in (event.in_, event.out))
                if put is not None and normal(put) == serial:
                    yield place.key, unit
                elif taken is not None and normal(taken) == serial:
                    yield place.key, None
