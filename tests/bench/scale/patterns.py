"""All patterns of a shape: which units and sites belong to which, and what is told of them."""

from collections.abc import Iterator
from datetime import datetime

import msgspec

from service.domain.caller import KeyHolder
from service.domain.codec import decode
from service.domain.context import world_of
from service.domain.recorded import Recorded
from service.domain.world import World
from tests.bench.scale.names import Members
from tests.bench.scale.of_sites import context, told_sites
from tests.bench.scale.pattern import Origin, Pattern, Tables, pattern_of
from tests.bench.scale.shape import CLASSES, Shape
from tests.bench.scale.telling import MOVED_BY, PROMPT, Told, told_long, told_units


def contexts(shape: Shape, origin: Origin, tables: Tables) -> tuple[Pattern, World]:
    """Give what decisions rest on, as a pattern of one member, and the world that it makes."""
    pattern = Pattern(Members([0], [0], f"{shape.seed}/context"), 0, origin, tables)
    told = [_told(message) for message in context(shape)]
    pattern_of(pattern, told, None)
    rows = [
        Recorded(
            event=decode(msgspec.json.encode(one.message)),
            organisation=origin[0],
            seq=seq,
            received_at=one.received_at,
            recorded_at=one.received_at,
            sent_at=one.received_at,
            key=origin[1],
        )
        for seq, one in enumerate(told, start=1)
    ]
    return pattern, world_of(rows, {origin[1]: KeyHolder("administrator")})


def _told(message: dict[str, object]) -> Told:
    at = msgspec.convert(message["occurred_at"], datetime)
    return Told(message, at, at + PROMPT, 0)


def patterns(shape: Shape, origin: Origin, tables: Tables, world: World) -> Iterator[Pattern]:
    """Give the patterns of sites and units, the unit with a long history last."""
    for of_class in range(len(CLASSES)):
        sites = list(range(of_class, shape.sites - MOVED_BY, len(CLASSES)))
        members = Members(sites, sites, f"{shape.seed}/sites")
        yield pattern_of(Pattern(members, of_class, origin, tables), told_sites(shape, of_class), None)
        for nth, units in enumerate(_of_class(shape, of_class)):
            members = Members(units, [shape.site_of(unit) for unit in units], f"{shape.seed}/units")
            pattern = Pattern(members, of_class, origin, tables)
            yield pattern_of(pattern, told_units(shape, of_class, nth), world)
    if shape.long:
        pattern = Pattern(Members([shape.units], [0], f"{shape.seed}/units"), 0, origin, tables)
        yield pattern_of(pattern, told_long(shape), world, late_agree=True)


def _of_class(shape: Shape, of_class: int) -> Iterator[list[int]]:
    """Give the units of each pattern of a class; of a small firm some patterns have none."""
    every = [unit for unit in range(shape.units) if shape.site_of(unit) % len(CLASSES) == of_class]
    for nth in range(shape.patterns):
        if units := every[nth :: shape.patterns]:
            yield units
