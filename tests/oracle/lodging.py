"""In which units a component sat from when to when, or may have, by definition (readings 34 and 49 of the oracle)."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import UTC, datetime
from itertools import pairwise
from typing import NamedTuple

from tests.oracle.story import Story
from tests.oracle.withdrawal_rule import bearer, moves

NEVER = datetime.max.replace(tzinfo=UTC)


class Lodging(NamedTuple):
    """From when until when (None: it goes on) a component sat in a unit; from its day on it may have."""

    bearer: Story
    since: datetime
    until: datetime | None
    day: datetime


def lodgings(story: Story, at: datetime) -> list[Lodging]:
    """Say in which units a component sat, or by a day alone may have sat, by a moment, one after the other."""
    return by_then(ending(placings(story)), at)


def by_then(every: list[Lodging], at: datetime) -> list[Lodging]:
    """Give those that have begun by a moment; what ends later goes on."""
    begun = [one for one in every if one.day <= at and one.bearer.registered_at() <= at]
    return [one._replace(until=None) if one.until is not None and one.until > at else one for one in begun]


def within(story: Story, at: datetime, inside: tuple[Story, ...] = ()) -> Iterator[Lodging]:
    """Walk all units that a component sat in or may have, and those that these sat in meanwhile."""
    sat = ending(placings(story))
    mine = [one for one in by_then([*sat, *perhaps(story, sat)], at) if one.bearer not in inside]
    yield from mine
    for one in mine:
        for other in within(one.bearer, at, (*inside, story)):
            until, day = sooner(one.until, other.until), max(one.day, other.day)
            if other.bearer is not story and (until is None or day < until):
                yield Lodging(other.bearer, max(one.since, other.since), until, day)


def widest(every: Iterable[Lodging]) -> list[Lodging]:
    """Leave out what another tells of the same unit, and more."""
    told = list(dict.fromkeys(every))
    return [one for one in told if not any(other is not one and covers(other, one) for other in told)]


def covers(one: Lodging, other: Lodging) -> bool:
    """Say whether a lodging tells all of another."""
    longer = one.until is None or (other.until is not None and other.until <= one.until)
    sure = one.since <= other.since or (other.until is not None and other.since >= other.until)
    return one.bearer is other.bearer and one.day <= other.day and sure and longer


def perhaps(story: Story, sat: list[Lodging]) -> Iterator[Lodging]:
    """Walk where it may have been besides: put into another unit, while the one that it was in says nothing of it."""
    told = moves(story, NEVER)
    for unit, other in story.world.stories.items():
        spans, began = list[tuple[datetime, datetime]](), None
        for move in told if other is not story else ():
            if move.host == unit:
                began = move.day if began is None else min(began, move.day)
            elif move.teller == unit and began is not None:
                spans, began = [*spans, (began, move.key[0])], None
        spans += [] if began is None else [(began, NEVER)]
        there = [(one.day, one.until or NEVER) for one in sat if one.bearer is other]
        edges = sorted({edge for span in (*spans, *there) for edge in span})
        gaps = [
            (since, until)
            for since, until in pairwise(edges)
            if any(a <= since < b for a, b in spans) and not any(a <= since < b for a, b in there)
        ]
        for since, until in touching(gaps):
            yield Lodging(other, NEVER, None if until == NEVER else until, since)


def touching(spans: list[tuple[datetime, datetime]]) -> list[tuple[datetime, datetime]]:
    """Join spans that touch."""
    found: list[tuple[datetime, datetime]] = []
    for since, until in spans:
        if found and found[-1][1] == since:
            found[-1] = (found[-1][0], until)
        else:
            found.append((since, until))
    return found


def placings(story: Story) -> Iterator[tuple[datetime, datetime, Story | None]]:
    """Walk where a component is after each moment and each message that may move it, and since when it may be."""
    others = {unit: one for unit, one in story.world.stories.items() if one is not story}
    swaps = {one.facts[index].at for one in story.world.stories.values() for index in one.swaps}
    for moment in sorted(swaps | {story.facts[index].at for index in story.registrations}):
        told = moves(story, moment)
        before = [move for move in told if move.key[0] < moment]
        yield moment, moment, others.get(bearer(before))
        for nth, move in enumerate(told[len(before) :], len(before) + 1):
            now = bearer(told[:nth])
            yield moment, move.day if move.host == now else moment, others.get(now)


def ending(placed: Iterable[tuple[datetime, datetime, Story | None]]) -> list[Lodging]:
    """Let each lodging end where the next begins; what lasted for no time at all, be it of its day, is none.

    It may have begun on its day, yet no earlier than the one before it in the same unit ended.
    """
    every = list(placed)
    found: list[Lodging] = []
    for nth, (since, day, unit) in enumerate(every):
        until = every[nth + 1][0] if nth + 1 < len(every) else None
        if unit is None:
            continue
        goes_on = bool(found) and found[-1].bearer is unit and found[-1].until == since
        before = [one.until for one in (found[:-1] if goes_on else found) if one.bearer is unit and one.until]
        begins = max([day, *before])
        if goes_on:
            found[-1] = found[-1]._replace(until=until, day=min(found[-1].day, begins))
        elif until is None or begins < until:
            found.append(Lodging(unit, since, until, begins))
    return found


def sooner(one: datetime | None, other: datetime | None) -> datetime | None:
    """Give the earlier of two ends, where None is none."""
    return min((end for end in (one, other) if end is not None), default=None)
