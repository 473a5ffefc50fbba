"""Placing: whose each event is, and its place in the fold.

A date alone needs a zone: of the event's own site, else of where its unit was, as told by the events that carry a site.
Good news that was taken back has no place; bad news keeps it.
"""

from bisect import bisect_right
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import UTC, datetime, time
from uuid import UUID

import msgspec

from service.domain.event import AssetEvent
from service.domain.facts import Fact, Key, Taking, fold_key, instant, place
from service.domain.identity import KINDS, Identity
from service.domain.kinds.registered import Registered
from service.domain.kinds.released import Released
from service.domain.kinship import hangs_on
from service.domain.recorded import Recorded
from service.domain.voiding import own
from service.domain.world import World

CARRIES_SITE = frozenset({"received", "issued", "stationed", "returned", "found"})
SITELESS = "day:siteless"
"""What a kin asks of which bad news states a day alone and no site: what is told later may move that to another zone.

It then counts some hours sooner or later, which may be before what is told later does.
"""

TakenBack = Mapping[UUID, tuple[Recorded, ...]]


class Placed(msgspec.Struct, frozen=True):
    """Whose each tag is, the facts of every unit, and the voidings without effect (R27), each with its unit."""

    identity: Identity
    facts: dict[UUID, list[Fact]]
    useless: dict[UUID, UUID]

    def home(self, unit: UUID) -> str:
        """Name the site at which a unit was first registered."""
        return str(self.identity.registrations[unit][0].event.site)


def place_all(rows: Sequence[Recorded], taken_back: TakenBack, world: World) -> Placed:
    """Give every event that counts its unit and its place."""
    mine = [row for row in rows if isinstance(row.event, AssetEvent)]
    world.asked.update(ref for row in mine for ref in hangs_on(row.event))
    identity = Identity.of(_claims(mine, taken_back, world), world)
    sites = Sites(mine, taken_back, identity, world)
    facts: dict[UUID, list[Fact]] = {}
    for unit, fact in identity.claims:
        facts.setdefault(unit, []).append(fact)
    useless: dict[UUID, UUID] = {}
    for row in (row for row in mine if not isinstance(row.event, KINDS)):
        found = _found(row, identity, sites, world)
        if found is None:
            continue
        unit, fact = found
        voidings = taken_back.get(row.event.id, ())
        if voidings and not fact.event.fails(world.model(identity.model(unit, fact.key), fact.as_of)):
            continue
        useless |= {voiding.event.id: unit for voiding in voidings if own(voiding, row)}
        facts.setdefault(unit, []).append(fact)
    return Placed(identity, facts, dict(sorted(useless.items())))


def _claims(rows: Iterable[Recorded], taken_back: TakenBack, world: World) -> Iterator[Fact]:
    """Place what says who a tag is. A date without a site is that of the tag's first registration."""
    claims = [row for row in rows if isinstance(row.event, KINDS) and row.event.id not in taken_back]
    homes: dict[str, str] = {}
    for row in sorted(claims, key=lambda row: fold_key(row.event, rough(row))):
        if isinstance(row.event, Registered):
            homes.setdefault(row.event.asset, row.event.site)
    return (place(row, homes.get(_asset(row).asset), world) for row in claims)


def _found(row: Recorded, identity: Identity, sites: "Sites", world: World) -> tuple[UUID, Fact] | None:
    event = _asset(row)
    fact = place(row, sites.of(row), world)
    unit = identity.unit(event.asset, fact.key)
    return None if unit is None else (unit, fact)


def siteless(rows: Iterable[Recorded]) -> Iterator[Recorded]:
    """Give what states a day alone and no site."""
    asset = (row for row in rows if isinstance(row.event, AssetEvent))
    return (row for row in asset if row.event.occurred_at is None and row.event.site is None)


def shows_by(fact: Fact, days: datetime | None) -> bool:
    """Say whether a fact shows a unit at a site no later than the last of its days began of which the site is asked."""
    return days is not None and fact.event.kind in CARRIES_SITE and fact.event.site is not None and fact.at <= days


def rough(row: Recorded) -> datetime:
    """Give the instant of an event, of a date alone the start of its day in UTC."""
    if row.event.occurred_at is not None:
        return row.event.occurred_at
    return datetime.combine(row.event.earliest_day(), time(), UTC)


class Sites:
    """Where each unit was seen, for dates that name no site of their own; looked up only where one does."""

    def __init__(self, rows: Sequence[Recorded], taken_back: TakenBack, identity: Identity, world: World) -> None:
        self._identity = identity
        self._seen: dict[UUID, list[tuple[Key, str]]] = {}
        if all(row.event.occurred_at or row.event.site for row in rows):
            return
        for unit, known in identity.registrations.items():
            self._seen[unit] = [(fact.key, str(fact.event.site)) for fact in known]
        for row in rows:
            if row.event.kind in CARRIES_SITE and row.event.site is not None and row.event.id not in taken_back:
                fact = place(row, None, world)
                owner = identity.unit(fact.event.asset, fact.key)
                if owner is not None:
                    self._seen[owner].append((fact.key, row.event.site))
        for seen in self._seen.values():
            seen.sort()

    def of(self, row: Recorded) -> str | None:
        """Give the site of the unit as a date began (UTC), else the first one known; None where it is not asked."""
        event = _asset(row)
        if event.occurred_on is None or event.site is not None:
            return None
        start = rough(row)
        unit = self._identity.unit(event.asset, (start, True, 99, "", -1, b"", False))
        if unit is None:
            return None
        seen = self._seen[unit]
        return seen[max(bisect_right(seen, start, key=lambda one: one[0][0]) - 1, 0)][1]


def with_takings(facts: Iterable[Fact], rows: Sequence[Recorded], taken_back: TakenBack, world: World) -> list[Fact]:
    """Give releases of a unit that name a voiding, perhaps of a recall, what they may rest on; `facts` are all its."""
    known = list(facts)
    named = {fact.event.voiding for fact in known if isinstance(fact.event, Released) and fact.event.voiding}
    if not named:
        return known
    originals = {row.event.id: row for row in rows}
    takings = world.recalls.takings()
    for original, voidings in taken_back.items():
        keys = tuple(fact.key for fact in known if fact.event.id == original)
        for voiding in voidings:
            if keys and voiding.event.id in named and not own(voiding, originals[original]):
                by, at = originals[original].event.by, instant(voiding.event, None, world)
                takings[voiding.event.id] = Taking(original, by, voiding.event.by, at, keys)
    return [_taking(fact, takings) for fact in known]


def _taking(fact: Fact, takings: Mapping[UUID, Taking]) -> Fact:
    named = fact.event.voiding if isinstance(fact.event, Released) else None
    return fact if named is None or named not in takings else msgspec.structs.replace(fact, taking=takings[named])


def _asset(row: Recorded) -> AssetEvent:
    if not isinstance(row.event, AssetEvent):  # pragma: no cover - only such rows are placed
        raise TypeError(row.event.kind)
    return row.event
