"""What a recall means in a unit by days alone that have begun and are not over, by definition (reading 52).

At the end of each such day, as told by what states it alone: which parts sit there, and what came out by which name.
Whatever lets something go is asked of what has happened.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from typing import NamedTuple

from tests.oracle import impact
from tests.oracle.fact import Fact
from tests.oracle.impact import Sat, Seen, Sitting
from tests.oracle.parts import changes, fitted
from tests.oracle.recalls import OF_PARTS, Opening, cleared, forgave, history, may_be, names, of_unit
from tests.oracle.record import Message
from tests.oracle.story import Story
from tests.oracle.told import SWAPS

Place = tuple[str, datetime | None]
"""A position ("" for the unit), and when what is there was put in (None: it came with the unit)."""


class Named(NamedTuple):
    """What is said of a place on a day: the part, since when it is known as that, and the day on which it came."""

    place: Place
    part: Message | None
    named: datetime | None
    came: datetime | None
    day: datetime


def sittings(unit: Seen, openings: list[Opening], at: datetime) -> list[Sat]:
    """Say what openings mean in a unit, and what besides by days that are not over."""
    found = impact.sittings(unit, openings, at)
    return [*found, *coming(unit, openings, at, [one.shown for one in found])]


def coming(unit: Seen, openings: list[Opening], at: datetime, found: list[Sitting]) -> Iterator[Sat]:
    """Walk what comes under a recall so: each thing once, and none that is under it already."""
    story, n = unit.story, unit.n
    told: set[Place] = {(one[0], put_in(story, n, one[0])) for one in found if one[4] == "affected"}
    for later, named in said(story, n, at):
        if named.place in told or not any(means(story, n, later, one, named) for one in openings):
            continue
        told.add(named.place)
        since = named.place[1] or impact.beginning(story)
        part = named.part or {}
        begun, first = (named.day, named.day) if since > at else (since, named.came or since)
        shown: Sitting = (named.place[0], begun, None, False, "affected", part.get("item"), part.get("lot"))
        yield Sat(shown, first, None, at if since > at else None)


def said(story: Story, n: int, at: datetime) -> Iterator[tuple[Story, Named]]:
    """Walk what is said of every place by the end of each day, with the story as it is by then."""
    so_far = story.facts[:n]
    today = [one for one in story.facts[n:] if one.day is not None and not one.adverse and one.versions_at <= at]
    for nth, act in enumerate(today):
        before, later = retold(story, so_far), retold(story, [*so_far, act])
        so_far = later.facts
        if act.kind in SWAPS and not later.dead(len(so_far) - 1):
            yield from came_out(before, act, later)
        if nth + 1 < len(today) and today[nth + 1].at == act.at:
            continue
        yield later, Named(("", None), None, None, None, act.versions_at)
        for position, there in fitted(later, len(so_far)).items():
            if there.part is not None:
                since, named = history(later, len(so_far), position)
                came = None if since is None or there.fact.day is None else there.fact.versions_at
                yield later, Named((position, since), there.part, named, came, act.versions_at)


def retold(story: Story, facts: list[Fact]) -> Story:
    """Tell a unit's story by some of its facts."""
    return Story(story.world, story.unit, facts)


def came_out(before: Story, act: Fact, later: Story) -> Iterator[tuple[Story, Named]]:
    """Say by what name a part came out that had sat there for a while, if another than it was known by."""
    ((position, _),) = changes(later, len(before.facts)).items()
    pieces, stated = impact.fitted(before, len(before.facts))
    was = next((one for one in pieces if one.position == position and one.ended is None), None)
    part = impact.taken_out(before, act, was, known=position in stated)
    if part is not None and (was is None or names(was.names[-1][1]) != names(part)):
        since = put_in(before, len(before.facts), position)
        yield later, Named((position, since), part, act.at, None if was is None else was.day, act.versions_at)


def put_in(story: Story, n: int, position: str) -> datetime | None:
    """Say when what is in a position was put in; None for what came with the unit, and the unit."""
    there = fitted(story, n).get(position)
    return None if there is None else history(story, n, position)[0]


def means(story: Story, n: int, later: Story, opening: Opening, named: Named) -> bool:
    """Say whether an opening means something, and nothing that has happened let it go."""
    if any(story.effective_release(index) and forgave(story, index, opening) for index in story.back(n)):
        return False
    if opening.ends is not None and story.examined_after(max(opening.ends, opening.at), n):
        return False
    since, m = named.place[1], len(later.facts)
    late = opening.ends is not None and (story.registered_at() if since is None else since) > opening.ends
    if late or cleared(story, n, opening, since, named.named):
        return False
    criteria = opening.fact.get("criteria")
    of_parts = [one for one in criteria if any(one.get(name) for name in OF_PARTS)]
    if named.part is None:
        return any(of_unit(one, later, m) for one in criteria if one not in of_parts)
    return any(may_be(one, later.models(m), named.part) for one in of_parts)
