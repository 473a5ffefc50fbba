"""Stored wearings: who wore units, as their folds left it, as far as that may have lasted past a moment of each.

What was over by then is not read: of a unit that was worn for years that is nearly all. A process remembers the rest
with the unit; asked of an earlier moment it reads again.
"""

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from sys import intern
from typing import Final, NamedTuple
from uuid import UUID

from service.assessing.aside import aside
from service.assessing.moment import Question
from service.assessing.spoken_of import LONGEST_DAY
from service.assessing.stored_lives import StoredLife, Worn
from service.domain.recall.wearings import PUT_ON, wearings
from service.domain.standing import BEGINNING, FOREVER
from service.domain.wearing import Use
from service.store.wearings_since import Since, WearingOfUnit, wearings_since

FIRST: Final = BEGINNING + LONGEST_DAY


class LifeSince(NamedTuple):
    """A unit as it is stored, and since when it matters who wore it."""

    life: StoredLife
    since: datetime


async def stored_wearings(question: Question, asked: Sequence[LifeSince]) -> dict[UUID, Worn]:
    """Give by unit who wore it."""
    known = ((life.unit, life.worn, since) for life, since in asked)
    found = {unit: worn for unit, worn, since in known if worn is not None and worn.since <= since}
    unread = [one for one in asked if one.life.unit not in found] if len(found) < len(asked) else []
    for life, worn in await _read(question, unread) if unread else ():
        found[life.unit] = worn
        _note(question, life, worn)
    return found


def _note(question: Question, life: StoredLife, worn: Worn) -> None:
    """Remember who wore a unit, if that is remembered itself and there is room."""
    more = worn.weight - (0 if life.worn is None else life.worn.weight)
    if question.known.lives.grows(question.organisation, life.kin, life.version, more):
        life.worn = worn


async def _read(question: Question, asked: Sequence[LifeSince]) -> list[tuple[StoredLife, Worn]]:
    since = [Since(life.unit, max(since, FIRST) - LONGEST_DAY) for life, since in asked]
    rows = await wearings_since(question.conn, question.organisation, since, PUT_ON)
    return await aside(len(asked) + len(rows), lambda: [*_worn(asked, rows)])


def _worn(asked: Sequence[LifeSince], rows: Iterable[WearingOfUnit]) -> Iterator[tuple[StoredLife, Worn]]:
    """Sort what was read by the units, and tell how long each wearing may have lasted."""
    uses: list[list[Use]] = [[] for _ in asked]
    for nth, at, site, ref, who, ends, known_by, day in rows:
        person = None if who is None else intern(who)  # of names that are said again and again one is kept
        uses[nth].append(Use(at, intern(site), None, ref, person, ends, worn=True, known_by=known_by, day=day))
    for (life, since), used in zip(asked, uses, strict=True):
        own = tuple(wearings(used, life.stays, FOREVER))
        until = max([wearing.until for wearing in own if wearing.until is not None], default=BEGINNING)
        yield life, Worn(since, tuple(used) if life.entangled else (), own, until)
