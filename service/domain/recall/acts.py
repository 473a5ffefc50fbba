"""Acts: what was said of a unit under whatever tag it had, of use where a tag alone does not tell whose events are.

A tag may have been another unit's (R13, R47), and what is taken back did not happen unless that was taken back too.
"""

from collections.abc import Iterable, Iterator, Mapping
from datetime import UTC, datetime
from uuid import UUID

import msgspec
from msgspec.structs import replace

from service.domain.component import fitted, is_component, perhaps
from service.domain.event import AssetEvent
from service.domain.facts import Fact
from service.domain.kinds.quarantined import Quarantined
from service.domain.lodging import Lodging, in_turn
from service.domain.placing import place_all
from service.domain.recall.sighting import sights
from service.domain.recorded import Recorded
from service.domain.standing import BEGINNING, FOREVER
from service.domain.voiding import every_voiding
from service.domain.world import World


class Act(msgspec.Struct, gc=False, frozen=True):
    """An event of a unit, of a kind: when it was, of a day alone its beginning, and whether the unit was had in hand.

    `stops` names the recall for which it withdraws the unit. One `foretold` is that alone, by its receipt before then.
    """

    at: datetime
    kind: str
    sights: bool
    stops: str | None
    foretold: bool = False


class Acts(msgspec.Struct, frozen=True):
    """What was said of a unit by a moment, in order, and as a component in which units it sat, one after the other.

    `perhaps` are those in which it may have been besides.
    """

    acts: tuple[Act, ...]
    fitted: tuple[Lodging[UUID], ...]
    perhaps: tuple[Lodging[UUID], ...] = ()

    @property
    def last(self) -> datetime | None:
        """Give when it was last spoken of."""
        return next((act.at for act in reversed(self.acts) if not act.foretold), None)

    def sighted(self, since: datetime) -> datetime | None:
        """Give when somebody first had it in hand from a moment on."""
        return next((act.at for act in self.acts if act.sights and act.at >= since), None)

    def stopped(self, recall: str) -> list[datetime]:
        """Give when it was withdrawn for a recall."""
        return [act.at for act in self.acts if act.stops == recall]


def acts_of_units(rows: Iterable[Recorded], kins: Mapping[str, str], at: datetime, world: World) -> dict[UUID, Acts]:
    """Sort events of whole kins by the units they are about; `kins` names the kin of each tag."""
    every = list(rows)
    taken_back = every_voiding(every)
    placed = place_all(every, taken_back, world)
    told = {unit: sorted(facts, key=lambda fact: fact.key) for unit, facts in placed.facts.items()}
    homes = {unit: kins[_tag(known[0].event)] for unit, known in placed.identity.registrations.items()}
    found: dict[UUID, Acts] = {}
    for unit, facts in told.items():
        acts = (act for fact in facts for act in _acts_of(fact, back=fact.event.id in taken_back) if act.at <= at)
        mine = tuple(sorted(acts, key=lambda act: act.at))
        near = {other: known for other, known in told.items() if homes[other] == homes[unit]}
        if is_component(unit, placed.identity):
            sat = (fitted(unit, placed.identity, near), perhaps(unit, placed.identity, near))
            found[unit] = Acts(mine, *(tuple(_by_then(lodgings, at)) for lodgings in sat))
        else:
            found[unit] = Acts(mine, ())
    return {unit: _with_hosts(unit, found) for unit in found}


def _acts_of(fact: Fact, *, back: bool) -> Iterator[Act]:
    """Give what an event of a unit says: bad news that was received before its moment withdraws the unit then, too."""
    stops = _stops(fact.event)
    yield Act(fact.as_of, fact.event.kind, sights(fact.event) and not back, stops)
    if stops is not None and fact.recorded.received_at < fact.as_of:
        yield Act(fact.recorded.received_at.astimezone(UTC), fact.event.kind, sights=False, stops=stops, foretold=True)


def _by_then(lodgings: Iterable[Lodging[UUID]], at: datetime) -> Iterator[Lodging[UUID]]:
    """Give those that have begun by a moment; what ends later goes on."""
    for one in lodgings:
        if one.day <= at:
            yield one._replace(until=FOREVER) if one.until > at else one


def _with_hosts(unit: UUID, found: Mapping[UUID, Acts]) -> Acts:
    """Add to what was said of a component what was said of the unit that it sat in meanwhile, for sure."""
    mine = found[unit]
    told = [*_of_hosts(unit, (BEGINNING, FOREVER), found, frozenset())] if mine.fitted else []
    return replace(mine, acts=tuple(sorted([*mine.acts, *told], key=lambda act: act.at))) if told else mine


def _of_hosts(
    unit: UUID, span: tuple[datetime, datetime], found: Mapping[UUID, Acts], within: frozenset[UUID]
) -> Iterator[Act]:
    for one in in_turn(found[unit].fitted):
        since, until = max(span[0], one.since), min(span[1], one.until)
        if since < until and one.host not in within | {unit}:
            yield from (act for act in found[one.host].acts if since <= act.at < until)
            yield from _of_hosts(one.host, (since, until), found, within | {unit})


def _stops(event: AssetEvent) -> str | None:
    """Name the recall for which an event withdraws its unit."""
    if not isinstance(event, Quarantined) or event.recall is None:
        return None
    return event.recall if event.stops_for(event.recall) else None


def _tag(event: AssetEvent) -> str:
    return event.asset
