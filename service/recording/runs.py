"""Runs: new rows cut where they can't be folded in one go."""

from collections.abc import Iterable, Mapping, Sequence
from collections.abc import Set as AbstractSet
from datetime import UTC
from types import MappingProxyType
from typing import Final
from uuid import UUID

from service.domain.event import AssetEvent
from service.domain.facts import Key, fold_key, instant
from service.domain.placing import place_all, siteless
from service.domain.recorded import Recorded
from service.domain.voiding import every_voiding
from service.domain.world import World

NOWHERE: Final[Mapping[UUID, Key]] = MappingProxyType({})


def runs(
    rows: Sequence[Recorded], apart: AbstractSet[UUID], world: World, placed: Mapping[UUID, Key] = NOWHERE
) -> list[list[Recorded]]:
    """Cut rows, in the order they are recorded, where one does not follow the one before it in the fold.

    The events named by `apart` are each a run by themselves. `placed` tells of those that state a day alone and no site
    where they count (`places`); of others their own words do. Bad news that was received before its moment counts then,
    too.
    """
    cut: list[list[Recorded]] = []
    last: Key | None = None
    for row in rows:
        event, alone = row.event, row.event.id in apart
        key = _key(event, world, placed) if isinstance(event, AssetEvent) else None
        if cut and last is not None and key is not None and _first(row, key) > last and not alone:
            cut[-1].append(row)
        else:
            cut.append([row])
        last = None if alone else key
    return cut


def places(known: Iterable[Recorded], new: Sequence[Recorded], world: World) -> Mapping[UUID, Key]:
    """Give where new rows count that state a day alone and no site, by what is known of their units."""
    days = {row.event.id for row in siteless(new)}
    if not days:
        return NOWHERE
    every = [*known, *new]
    placed = place_all(every, every_voiding(every), world.fresh())
    return {fact.event.id: fact.key for facts in placed.facts.values() for fact in facts if fact.event.id in days}


def _key(event: AssetEvent, world: World, placed: Mapping[UUID, Key]) -> Key:
    found = placed.get(event.id)
    return fold_key(event, instant(event, None, world)) if found is None else found


def _first(row: Recorded, key: Key) -> Key:
    """Give the first place at which an event counts whose own is given."""
    ahead = row.event.adverse() and row.received_at < key[0]
    return fold_key(row.event, row.received_at.astimezone(UTC), echo=True) if ahead else key
