"""Courses: how a unit went through each spell under a recall, and where it was meanwhile.

What is told of a moment that is past is what was told then: a unit that is missing was located until it was, a retired
one outstanding until it was, and in a rehearsal one that was located is put away whenever it lies in store.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from uuid import UUID

from service.assessing.recall_done import Told
from service.assessing.recall_reached import Done
from service.assessing.whereabouts import Where
from service.domain.lodging import in_turn
from service.domain.recall.progress import Course, Place
from service.domain.stretches import Stretch, joined, shared, sooner

Wheres = Mapping[UUID, Sequence[Where]]
"""By unit, where it was."""


def courses(told: Told, dones: Iterable[Done], wheres: Wheres, *, rehearsal: bool) -> Iterator[Course]:
    """Give the courses of a unit, of a component with the unit it sat in."""
    own = _own(told, wheres)
    borne = [*_borne(told, own, wheres)]
    for done in dones:
        yield _course(done, own, borne, told.lived.life.at, rehearsal=rehearsal)


def passed(told: Told, wheres: Wheres, sites: Collection[str]) -> bool:
    """Say whether a unit was at any of the sites since it came under the recall."""
    if not told.spells:
        return False
    since = told.spells[0].since
    return any(
        one.site in sites and (one.until is None or one.until > since)
        for one in _borne(told, _own(told, wheres), wheres)
    )


def gone(told: Told, wheres: Wheres) -> bool:
    """Say whether a unit was retired before it came under the recall with what is under it now."""
    last = wheres[told.lived.life.unit.unit][-1]
    if last.phase != "retired" or not told.spells:
        return False
    return _own(told, wheres)[-1].since <= told.spells[-1].since


def _course(done: Done, own: Sequence[Where], borne: Sequence[Where], at: datetime, *, rehearsal: bool) -> Course:
    spell = done.spell
    whole: Stretch = (spell.since, spell.again)
    located = [*_from(done.seen, whole, _stretches(one for one in own if one.phase != "missing"))]
    away = [*_from(spell.since, whole, ((one.since, _open(one.until, at)) for one in done.away if one.since <= at))]
    if rehearsal:
        in_store = _stretches(one for one in borne if one.phase == "in-store")
        away = [*away, *shared(located, in_store)]
    under = [(spell.since, sooner(spell.ended, spell.again))]
    return Course(
        tuple(Place(one.since, one.until, one.site) for one in borne),
        {
            "located": tuple(located),
            "stopped": tuple(_from(done.stopped, whole, [whole])),
            "put_away": tuple(joined(away)),
            "remedied": tuple(_from(spell.ended, whole, [whole])),
            "outstanding": tuple(shared(under, _stretches(one for one in own if one.phase != "retired"))),
        },
    )


def _from(since: datetime | None, whole: Stretch, stretches: Iterable[Stretch]) -> Iterator[Stretch]:
    """Give what of some stretches lies in a whole, from a moment on; nothing where there is none."""
    if since is not None:
        yield from shared(stretches, [(max(since, whole[0]), whole[1])])


def _stretches(wheres: Iterable[Where]) -> list[Stretch]:
    return [(one.since, one.until) for one in wheres]


def _own(told: Told, wheres: Wheres) -> list[Where]:
    """Give where a unit was, whatever it sat in."""
    return [*_reaching(wheres[told.lived.life.unit.unit], told.lived.life.unit.beginning)]


def _borne(told: Told, own: Sequence[Where], wheres: Wheres) -> Iterator[Where]:
    """Give where a unit was: while it sat in another as a component, where that one was."""
    at = told.lived.life.at
    begun: datetime | None = own[0].since
    for one in in_turn(told.lodgings):
        if begun is None:
            break
        ends = _open(one.until, at)
        yield from _cut(own, begun, one.day)
        yield from _cut(_reaching(wheres[one.host.life.unit.unit], one.day), one.day, ends)
        begun = ends
    if begun is not None:
        yield from _cut(own, begun, None)


def _reaching(wheres: Sequence[Where], back: datetime) -> Iterator[Where]:
    """Let the first whereabouts reach back to a moment."""
    for nth, one in enumerate(wheres):
        yield one._replace(since=min(one.since, back)) if nth == 0 else one


def _cut(wheres: Iterable[Where], since: datetime, until: datetime | None) -> Iterator[Where]:
    """Give what of some whereabouts lies in a stretch."""
    for one in wheres:
        first, last = max(one.since, since), sooner(one.until, until)
        if last is None or first < last:
            yield one._replace(since=first, until=last)


def _open(until: datetime, at: datetime) -> datetime | None:
    """Give an end by a moment; what has not ended by then has none."""
    return None if until > at else until
