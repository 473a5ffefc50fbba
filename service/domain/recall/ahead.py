"""Ahead: what there is in a unit by days alone that have begun and are not over.

What is said of such a day counts at its end (R1), for state and standing. What a recall has reached looks further: a
part that was put in, or named, or a registration may be so from the day's beginning. What would let anything go, a
remedy, a release or an examination, counts once the day is over, and what was taken out is told beside (`impact.py`).
"""

from collections.abc import Iterable, Iterator
from datetime import datetime
from itertools import groupby

import msgspec
from msgspec.structs import replace

from service.domain.facts import Fact, Signal, day_of
from service.domain.fitting import renamed
from service.domain.fold import meant
from service.domain.recall.listing import Listing
from service.domain.unit import Unit
from service.domain.world import World


class Ahead(msgspec.Struct, gc=False, frozen=True):
    """A unit as it will be by what is said of a day that began at `day`, and nothing of it let go.

    `listing` tells what may sit there where nothing was said.
    """

    unit: Unit
    day: datetime
    listing: Listing


def ahead(unit: Unit, facts: Iterable[Fact | Signal], at: datetime, world: World) -> tuple[Ahead, ...]:
    """Tell how a unit will be at the end of each day around a moment, by those of its facts that state the day alone.

    What leaves is told before it does, as it was said to be until then and as it is named when it is taken out: it sat
    there, as far as anybody knows.
    """
    every = ((one, day_of(one)) for one in facts if isinstance(one, Fact))
    coming = [(one, day) for one, day in every if day is not None and day <= at < one.at]
    found = ((_held(then, unit), day) for then, day in _days(unit, coming, world))
    return tuple(Ahead(then, day, world.listing(then, at)) for then, day in found)


def _days(unit: Unit, coming: Iterable[tuple[Fact, datetime]], world: World) -> Iterator[tuple[Unit, datetime]]:
    for _, of_day in groupby(coming, lambda one: one[0].at):
        for fact, day in of_day:
            was, unit = unit, meant(unit, fact, world)
            yield from ((one, day) for one in _left(was, unit, fact, world))
        yield unit, day


def _left(was: Unit, unit: Unit, fact: Fact, world: World) -> Iterator[Unit]:
    """Give a unit as it was before anything left it, and with what that was said to be when it was taken out."""
    for position, fitted in unit.parts.items():
        known = was.parts.get(position)
        if known is fitted or fitted.event != fact.event.id:
            continue
        if known is not None and known.part is not None:
            yield was
    yield from renamed(was, unit, fact, world)


def _held(then: Unit, now: Unit) -> Unit:
    """Let no more go of a unit than is let go now."""
    return replace(then, fixed=now.fixed, not_affected=now.not_affected, forgiven=now.forgiven, examined=now.examined)
