"""Counted: how many units a recall speaks of, how far they have been dealt with, and how many persons had or wore any.

Over all and by site, each unit looked at once.
"""

from collections import defaultdict
from collections.abc import Sequence
from collections.abc import Set as AbstractSet
from itertools import chain
from typing import Final, NamedTuple

import msgspec

from service.assessing.recall_reached import Impact, Reached
from service.domain.unit import phase


class Counts(msgspec.Struct, frozen=True):
    """How many units a recall speaks of or spoke of, and how far those that came under it have been dealt with.

    Every unit is affected, remedied or was so only `once`, before. `people` had or wore any meanwhile, where that was.
    """

    units: int
    affected: int
    certain: int
    once: int
    located: int
    stopped: int
    put_away: int
    remedied: int
    outstanding: int
    missing: int
    retired: int
    silent: int
    people: int


class Counted(NamedTuple):
    """What is counted over all, and at each site where there is any of it, or where anybody had or wore a unit."""

    total: Counts
    sites: dict[str, Counts]


STEPS: Final = Counts.__struct_fields__[1:-1]
Steps = tuple[bool, ...]
"""Of a unit whether it counts among each of these, in their order."""
NONE: Final[Steps] = (False,) * len(STEPS)


def counted(impact: Impact) -> Counted:
    """Count what a recall has done."""
    units: defaultdict[str, list[Steps]] = defaultdict(list)
    for one in impact.units:
        units[one.site].append(_steps(one))
    people: defaultdict[str, set[str | None]] = defaultdict(set)
    for touched in impact.exposing:
        for hand in touched.hands:
            people[hand.site].add(hand.holder.person)
        for worn in touched.wearers:
            people[worn.site].add(worn.person)
    return Counted(
        _counts([*chain.from_iterable(units.values())], set().union(*people.values())),
        {site: _counts(units[site], people[site]) for site in sorted({*impact.sites, *people})},
    )


def _steps(one: Reached) -> Steps:
    affected, unit = one.touched.affected, one.unit
    located, outstanding = one.located_at is not None, one.outstanding
    return (
        affected,
        affected and one.touched.certain,
        one.since is None,
        located,
        one.stopped_at is not None,
        one.put_away_at is not None,
        one.remedied_at is not None,
        outstanding,
        affected and phase(unit) == "missing",
        affected and unit.retired,
        outstanding and not located,
    )


def _counts(units: Sequence[Steps], people: AbstractSet[str | None]) -> Counts:
    """Add up units; a crew, a vehicle or a place is no person."""
    steps = dict(zip(STEPS, map(sum, zip(NONE, *units, strict=True)), strict=True))
    return Counts(units=len(units), people=len(people - {None}), **steps)
