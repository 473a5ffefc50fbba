"""Lives: units of some kins as they were at a moment, with what sat in them and who had them, as known at another.

Units are stored as they are now. Those that have changed since the moment, or since it was known, are folded again: so
are those of which something is said of a day alone that is not over, since that is stored at its end.
"""

from collections import defaultdict
from collections.abc import Iterable
from datetime import datetime
from typing import NamedTuple

import msgspec
from msgspec.structs import replace

from service.assessing.moment import Question
from service.assessing.stories import changed_since
from service.domain.intervals import Interval
from service.domain.kin import UnitFacts, prepare, told_of
from service.domain.recall.ahead import Ahead, ahead
from service.domain.recall.awaited import with_awaited
from service.domain.recall.impact import Life
from service.domain.standing import FOREVER
from service.domain.stays import Stay
from service.domain.unit import Unit
from service.domain.wearing import Use
from service.recording.loading import load_drafts, load_rows
from service.recording.rows import SEEN, Seen
from service.store.outlooks_of_kins import outlooks_of_kins
from service.store.put_away_of_units import put_away_of_units
from service.store.stays_of_units import stays_of_units
from service.store.wearings_of_units import WearingOfUnit, wearings_of_units

Turn = tuple[datetime, str, str]
"""Since when a unit was at a site, in a phase."""
STAY = msgspec.msgpack.Decoder(Stay)


class Away(NamedTuple):
    """A stretch in which a unit was withdrawn and in nobody's hands."""

    since: datetime
    until: datetime


class Lived(msgspec.Struct, gc=False, frozen=True):
    """A unit's life up to a moment, how it stands then, and when it was put away.

    `turns` tell, of a unit that was folded again, where it was since when, interval by interval.
    """

    life: Life
    standing: Interval
    away: tuple[Away, ...] = ()
    turns: tuple[Turn, ...] = ()


class Lives(NamedTuple):
    """The lives of units there were at a moment, by tag.

    `expected` are those of units that were registered on a day alone which is not over, as they will be by then.
    """

    every: list[Lived]
    expected: list[Life]


class Faced(NamedTuple):
    """A unit as it was at a moment, and what was said of it of a day that was not over."""

    unit: Unit
    ahead: tuple[Ahead, ...]


async def units(question: Question, kins: Iterable[str]) -> list[Faced]:
    """Give the units of kins that there were at the moment, as they were, and those to be expected, by tag."""
    kept, anew = await _divided(question, kins)
    stored = [Faced(one.folded.unit, ()) for one in kept if one.at(question.as_at) is not None]
    folded = await _folded(question, anew)
    every = [*(one.life for one in folded.every), *folded.expected]
    found = [*stored, *(Faced(life.unit, life.ahead) for life in every)]
    return sorted(found, key=lambda one: (one.unit.tag, one.unit.unit))


async def lives(question: Question, kins: Iterable[str]) -> Lives:
    """Give the units of kins that there were at the moment, and those to be expected."""
    kept, anew = await _divided(question, kins)
    folded = await _folded(question, anew)
    found = [*await _stored(question, kept), *folded.every]
    return Lives(sorted(found, key=lambda one: (one.life.unit.tag, one.life.unit.unit)), folded.expected)


async def _divided(question: Question, kins: Iterable[str]) -> tuple[list[Seen], set[str]]:
    """Give the units that are as they are stored, and the kins that have to be folded again."""
    wanted = set(kins)
    changed = await changed_since(question) if question.of_the_past else set()
    stored: defaultdict[str, list[Seen]] = defaultdict(list)
    for kin, outlook in await outlooks_of_kins(question.conn, question.organisation, wanted):
        stored[kin].append(SEEN.decode(outlook))
    anew = {kin for kin, left in stored.items() if any(one.folded.at > question.as_at for one in left)}
    anew |= (wanted & changed) | (wanted - stored.keys())
    return [one for kin, left in stored.items() if kin not in anew for one in left], anew


async def _stored(question: Question, outlooks: Iterable[Seen]) -> list[Lived]:
    """Give units as they are stored: nothing of them has changed since."""
    standing = ((one.folded.unit, one.at(question.as_at)) for one in outlooks)
    now = [(unit, interval) for unit, interval in standing if interval is not None]
    asked = (question.conn, question.organisation, [unit.unit for unit, _ in now], question.as_at)
    stays = await stays_of_units(*asked)
    uses: list[list[Use]] = [[] for _ in now]
    for row in await wearings_of_units(*asked):
        uses[row.nth].append(_use(row))
    away: list[list[Away]] = [[] for _ in now]
    for nth, since, until in await put_away_of_units(*asked):
        away[nth].append(Away(since, until or FOREVER))
    return [
        Lived(_life(question, unit, map(_stay, *sat), worn), interval, tuple(spans))
        for (unit, interval), sat, worn, spans in zip(now, stays, uses, away, strict=True)
    ]


def _stay(told: bytes, until: datetime | None) -> Stay:
    stay = STAY.decode(told)
    return stay if until is None else replace(stay, until=until)


def _use(row: WearingOfUnit) -> Use:
    return Use(row.at, row.site, None, row.ref, row.person, row.ends, worn=True, known_by=row.known_by, day=row.day)


async def _folded(question: Question, kins: Iterable[str]) -> Lives:
    """Fold kins as they were known up to the moment."""
    found = Lives([], [])
    for draft in await load_drafts(question.conn, question.organisation, kins=kins):
        await load_rows(
            question.conn,
            question.organisation,
            draft,
            question.world,
            until_seq=question.judged_to,
            known_at=question.known_at,
        )
        for facts in prepare(draft.old or (), draft.reports, question.world).units:
            if facts.start.at <= question.as_at:
                found.every.append(_lived(question, facts))
            elif facts.day is not None and facts.day <= question.as_at:
                found.expected.append(_expected(question, facts))
    return found


def _lived(question: Question, facts: UnitFacts) -> Lived:
    until = tuple(fact for fact in facts.facts if fact.at <= question.as_at)
    story = told_of(replace(facts, facts=until), question.world)
    begun = [one for one in story.intervals if one.since <= question.as_at]
    away = (Away(one.since, one.until) for one in begun if one.phase == "quarantined" and not one.in_scope)
    uses = (use for use in story.uses if use.worn)
    turns = tuple((one.since, one.site, one.phase) for one in begun)
    life = with_awaited(_life(question, story.folded.unit, story.stays, uses), facts, question.world)
    coming = ahead(life.unit, facts.facts, question.as_at, question.world)
    return Lived(replace(life, ahead=coming), begun[-1], tuple(away), turns)


def _expected(question: Question, facts: UnitFacts) -> Life:
    """Give a unit as it is said to be once the day of its registration is over."""
    story = told_of(replace(facts, facts=()), question.world)
    coming = ahead(facts.start.unit, facts.facts, question.as_at, question.world)
    return replace(_life(question, facts.start.unit, story.stays, ()), at=facts.start.at, ahead=coming)


def _life(question: Question, unit: Unit, stays: Iterable[Stay], uses: Iterable[Use]) -> Life:
    at = question.as_at
    return Life(unit, question.world.listing(unit, at), at, tuple(stays), tuple(uses))
