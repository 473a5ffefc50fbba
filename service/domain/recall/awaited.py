"""Awaited: who has or wears a unit by days alone that have begun and are not over.

Such a word counts at the day's end (R1). Whoever had or wore the unit on the day is told from its beginning, for no
second yet.
"""

from collections.abc import Iterator
from datetime import datetime

from msgspec.structs import replace

from service.domain.facts import Fact, Signal, day_of
from service.domain.kin import UnitFacts, told_of
from service.domain.recall.impact import Life
from service.domain.recall.wearings import Wearing
from service.domain.stays import Stay
from service.domain.wearing import Use
from service.domain.world import World


def with_awaited(life: Life, facts: UnitFacts, world: World) -> Life:
    """Add to a unit's life the hands and the wearings of days that are not over; `facts` are all that is told of it."""
    by_then = [fact for fact in facts.facts if fact.at <= life.at]
    later = [fact for fact in facts.facts if _awaits(fact, life.at)]
    if not later:
        return life
    story = told_of(replace(facts, facts=(*by_then, *later)), world)
    stays = (*life.stays, *_hands(story.stays, life.at))
    return replace(life, stays=stays, own=None, borne=(*life.borne, *_wearings(story.uses, life.at)))


def _awaits(fact: Fact | Signal, at: datetime) -> bool:
    day = day_of(fact) if isinstance(fact, Fact) else None
    return day is not None and day <= at < fact.at


def _hands(stays: tuple[Stay, ...], at: datetime) -> Iterator[Stay]:
    for stay in stays:
        if stay.holder is not None and stay.day is not None and stay.day <= at < stay.since:
            yield replace(stay, since=stay.day)


def _wearings(uses: tuple[Use, ...], at: datetime) -> Iterator[Wearing]:
    for use in uses:
        if use.worn and use.person is not None and use.day is not None and use.day <= at < use.at:
            yield Wearing(use.person, use.day, None, use.day, None, use.known_by, use.site)
