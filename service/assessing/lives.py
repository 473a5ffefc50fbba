"""Lives: units of some kins as they were at a moment, with what sat in them, as known at another.

Units are stored as they are now. Those that have changed since the moment, or since it was known, are folded again: so
are those of which something is said of a day alone that is not over, since that is stored at its end. Of these it is
told, too, who had and wore them.
"""

from collections.abc import AsyncIterator, Collection, Iterable, Mapping
from datetime import datetime
from functools import partial
from typing import Final, NamedTuple

import msgspec
from msgspec.structs import replace

from service.assessing.aside import aside, pages
from service.assessing.moment import Question
from service.assessing.stored_lives import Away, StoredLife, stored_kins, stored_lives
from service.assessing.stories import changed_since
from service.domain.facts import Fact
from service.domain.intervals import Interval
from service.domain.kin import UnitFacts, prepare, told_of
from service.domain.recall.ahead import Ahead, ahead
from service.domain.recall.awaited import with_awaited
from service.domain.recall.impact import Life
from service.domain.stays import Stay
from service.domain.unit import Unit
from service.domain.wearing import Use
from service.recording.loading import load_drafts, load_rows

Kins = Mapping[str, int | None]
"""Kins by name, each with the version at which it is stored, as far as that is known."""
KINS: Final = 1500
"""Kins read at a time: what is told of them comes from the database in one piece, and is let go before the next."""
Turn = tuple[datetime, str, str]
"""Since when a unit was at a site, in a phase."""


class Lived(msgspec.Struct, gc=False, frozen=True):
    """A unit's life up to a moment, how it stands then, when it was last spoken of, and when it was put away.

    `tags` are those of its kin; it is `entangled` where they are several, or mean several units. `stored` is what it is
    made of, unless it was folded again: who had and wore it is read apart then (`stored_exposure.py`), and its life
    tells of nobody. `turns` tell, of one that was folded again, where it was since when, interval by interval.
    """

    life: Life
    tags: tuple[str, ...]
    entangled: bool
    standing: Interval
    spoken: datetime
    away: tuple[Away, ...] = ()
    turns: tuple[Turn, ...] = ()
    stored: StoredLife | None = None


class Lives(NamedTuple):
    """The lives of units there were at a moment, those of one tag in order.

    `expected` are those of units that were registered on a day alone which is not over, as they will be by then.
    """

    every: list[Lived]
    expected: list[Life]


class Faced(NamedTuple):
    """A unit as it was at a moment, and what was said of it of a day that was not over."""

    unit: Unit
    ahead: tuple[Ahead, ...]


class _Divided(NamedTuple):
    """Units that are as they are stored, and kins that have to be folded again."""

    kept: list[StoredLife]
    anew: list[str]


async def units(question: Question, kins: Kins) -> list[Faced]:
    """Give the units of kins that there were at the moment, as they were, and those to be expected, by tag."""
    found: list[Faced] = []
    async for kept, anew in _divided(question, kins):
        found += [Faced(one.seen.folded.unit, ()) for one in kept if one.seen.at(question.as_at) is not None]
        folded = await _folded(question, anew)
        found += [Faced(life.unit, life.ahead) for life in (*(one.life for one in folded.every), *folded.expected)]
    return sorted(found, key=lambda one: (one.unit.tag, one.unit.unit))


async def lives_by_page(question: Question, kins: Kins) -> AsyncIterator[Lives]:
    """Give the units of kins that there were at the moment, and those to be expected, some kins at a time."""
    async for kept, anew in _divided(question, kins):
        folded = await _folded(question, anew)
        stored = await aside(len(kept), partial(_all_as_stored, question, kept))
        yield Lives([*stored, *folded.every], folded.expected)


async def _divided(question: Question, kins: Kins) -> AsyncIterator[_Divided]:
    """Divide units some kins at a time."""
    changed, at = await changed_since(question) if question.of_the_past else set(), question.as_at
    there = await stored_kins(question, {kin: version for kin, version in kins.items() if kin not in changed})
    for page in pages(kins, KINS):
        found, divided = await stored_lives(question, there, page), _Divided([], [])
        for kin in page:
            lives = found.get(kin)
            if lives is None or max([one.seen.folded.at for one in lives]) > at:
                divided.anew.append(kin)
            else:
                divided.kept.extend(lives)
        yield divided


def _all_as_stored(question: Question, kept: Iterable[StoredLife]) -> list[Lived]:
    return [lived for one in kept if (lived := _as_stored(question, one)) is not None]


def _as_stored(question: Question, stored: StoredLife) -> Lived | None:
    """Give a unit as it is stored, if it is one by the moment: nothing of it has changed since."""
    standing = stored.seen.at(question.as_at)
    if standing is None:
        return None
    left, at = stored.seen.folded, question.as_at
    away = tuple([one for one in stored.away if one.since <= at]) if stored.away else ()
    life = Life(left.unit, question.world.listing(left.unit, at), at, stored.parts, (), ())
    return Lived(life, stored.tags, stored.entangled, standing, left.spoken, away, stored=stored)


async def _folded(question: Question, kins: Collection[str]) -> Lives:
    """Fold kins as they were known up to the moment."""
    found = Lives([], [])
    for draft in await load_drafts(question.conn, question.organisation, kins=kins) if kins else ():
        await load_rows(
            question.conn,
            question.organisation,
            draft,
            question.world,
            until_seq=question.judged_to,
            known_at=question.known_at,
        )
        units = prepare(draft.old or (), draft.reports, question.world).units
        tags, entangled = tuple(sorted(draft.tags)), len(draft.tags) > 1 or len(units) > 1
        for facts in units:
            if facts.start.at <= question.as_at:
                found.every.append(_lived(question, facts, tags, entangled=entangled))
            elif facts.day is not None and facts.day <= question.as_at:
                found.expected.append(_expected(question, facts))
    return found


def _lived(question: Question, facts: UnitFacts, tags: tuple[str, ...], *, entangled: bool) -> Lived:
    until = tuple(fact for fact in facts.facts if fact.at <= question.as_at)
    story = told_of(replace(facts, facts=until), question.world)
    begun = [one for one in story.intervals if one.since <= question.as_at]
    away = (Away(one.since, one.until) for one in begun if one.phase == "quarantined" and not one.in_scope)
    uses = (use for use in story.uses if use.worn)
    turns = tuple((one.since, one.site, one.phase) for one in begun)
    life = with_awaited(_life(question, story.folded.unit, story.stays, uses), facts, question.world)
    coming = ahead(life.unit, facts.facts, question.as_at, question.world)
    told = (fact.as_of for fact in facts.facts if isinstance(fact, Fact) and fact.as_of <= question.as_at)
    spoken = max((story.folded.spoken, *told))
    return Lived(replace(life, ahead=coming), tags, entangled, begun[-1], spoken, tuple(away), turns)


def _expected(question: Question, facts: UnitFacts) -> Life:
    """Give a unit as it is said to be once the day of its registration is over."""
    story = told_of(replace(facts, facts=()), question.world)
    coming = ahead(facts.start.unit, facts.facts, question.as_at, question.world)
    return replace(_life(question, facts.start.unit, story.stays, ()), at=facts.start.at, ahead=coming)


def _life(question: Question, unit: Unit, stays: Iterable[Stay], uses: Iterable[Use]) -> Life:
    at = question.as_at
    return Life(unit, question.world.listing(unit, at), at, tuple(stays), tuple(uses))
