"""What a recall means in a unit by days alone that have begun and are not over, by definition (reading 52).

At the end of each such day, as told by what states it alone: which parts sit there, and what came out by which name.
Whatever lets something go is asked of what has happened.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime
from typing import NamedTuple

from tests.oracle import impact
from tests.oracle.fact import Fact
from tests.oracle.impact import Piece, Sat, Seen, Sitting
from tests.oracle.parts import changes, fitted
from tests.oracle.recalls import OF_PARTS, SAID, Opening, cleared, forgave, history, listed, may_be, names, of_unit
from tests.oracle.record import Message
from tests.oracle.story import Story
from tests.oracle.told import SWAPS

Place = tuple[str, Fact | None]
"""A position ("" for the unit), and what put in what is there (None: it came with the unit)."""


class Named(NamedTuple):
    """What is said of a place on a day: the part, since when it is known as that, and the day on which it came."""

    place: Place
    part: Message | None
    named: datetime | None
    came: datetime | None
    day: datetime

    @property
    def since(self) -> datetime | None:
        """Give when it was put in."""
        return None if self.place[1] is None else self.place[1].at


def sittings(unit: Seen, openings: list[Opening], at: datetime) -> list[Sat]:
    """Say what openings mean in a unit, and what besides by days that are not over."""
    found = impact.sittings(unit, openings, at)
    return [*found, *coming(unit, openings, at, [one.shown for one in found])]


def coming(unit: Seen, openings: list[Opening], at: datetime, found: list[Sitting]) -> Iterator[Sat]:
    """Walk what comes under a recall so: each thing once, and none that is under it already."""
    story, n = unit.story, unit.n
    told: set[Place] = {(one[0], put_in(story, n, one[0])) for one in found if one[4] == "affected"}
    for later, named in said(story, n, at):
        if named.place in told or not any(means(story, n, later, one, named, at) for one in openings):
            continue
        told.add(named.place)
        since = named.since or impact.beginning(story)
        part = named.part or {}
        begun, first = (named.day, named.day) if since > at else (since, named.came or since)
        shown: Sitting = (named.place[0], begun, None, False, "affected", part.get("item"), part.get("lot"))
        yield Sat(shown, first, None, at if since > at else None)


def said(story: Story, n: int, at: datetime) -> Iterator[tuple[Story, Named]]:
    """Walk what is said of every place by the end of each day, and before anything leaves it; with the story."""
    so_far = story.facts[:n]
    today = [one for one in story.facts[n:] if one.day is not None and not one.adverse and one.versions_at <= at]
    for nth, act in enumerate(today):
        before, later = retold(story, so_far), retold(story, [*so_far, act])
        so_far = later.facts
        if act.kind not in SAID and changes(later, len(so_far) - 1) and not later.dead(len(so_far) - 1):
            yield from there(before, act)
            yield from came_out(before, act, later) if act.kind in SWAPS else ()
        if nth + 1 == len(today) or today[nth + 1].at != act.at:
            yield later, Named(("", None), None, None, None, act.versions_at)
            yield from there(later, act)
            for position in listed(later, len(so_far), at).keys() - fitted(later, len(so_far)).keys():
                yield later, Named((position, None), None, None, None, act.versions_at)


def there(story: Story, act: Fact) -> Iterator[tuple[Story, Named]]:
    """Say what sits in every position by a story, that ends on the day of an act."""
    n = len(story.facts)
    for position, one in fitted(story, n).items():
        if one.part is not None:
            since, named = history(story, n, position)
            came = None if since is None or one.fact.day is None else one.fact.versions_at
            yield story, Named((position, put_in(story, n, position)), one.part, named, came, act.versions_at)


def retold(story: Story, facts: list[Fact]) -> Story:
    """Tell a unit's story by some of its facts."""
    return Story(story.world, story.unit, facts)


def came_out(before: Story, act: Fact, later: Story) -> Iterator[tuple[Story, Named]]:
    """Say by what name a part came out, if another than it was known by."""
    n = len(before.facts)
    ((position, _),) = changes(later, n).items()
    pieces, stated = impact.fitted(before, n)
    was = next((one for one in pieces if one.position == position and one.ended is None), None)
    piece = replace(was or Piece(position, impact.beginning(before), []), ended=act.at, gone=act.versions_at)
    part = impact.taken_out(act, was, piece, known=position in stated)
    if part is not None and (was is None or names(was.names[-1][1]) != names(part)):
        place = (position, put_in(before, n, position))
        yield later, Named(place, part, act.at, None if was is None else was.day, act.versions_at)


def put_in(story: Story, n: int, position: str) -> Fact | None:
    """Say what put in what is in a position; nothing did what came with the unit, nor the unit."""
    one = fitted(story, n).get(position)
    return None if one is None or history(story, n, position)[0] is None else one.fact


def means(story: Story, n: int, later: Story, opening: Opening, named: Named, at: datetime) -> bool:
    """Say whether an opening means something, and nothing that has happened let it go."""
    if any(story.effective_release(index) and forgave(story, index, opening) for index in story.back(n)):
        return False
    if opening.ends is not None and story.examined_after(max(opening.ends, opening.at), n):
        return False
    since, m = named.since, len(later.facts)
    late = opening.ends is not None and (story.registered_at() if since is None else since) > opening.ends
    if late or cleared(story, n, opening, since, named.named):
        return False
    criteria = opening.fact.get("criteria")
    of_parts = [one for one in criteria if any(one.get(name) for name in OF_PARTS)]
    model, models = later.model_ref(m), later.models(m)
    if named.part is None and named.place[0]:
        items = listed(later, m, at)[named.place[0]]
        return any(one.get("item") in {None, *items} and impact.of_model(one, model, models) for one in of_parts)
    if named.part is None:
        return any(of_unit(one, later, m) for one in criteria if one not in of_parts)
    return any(may_be(one, models, named.part) for one in of_parts)
