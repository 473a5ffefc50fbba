"""Stored wearings: who wore units, as their folds left it, as far as that may have lasted past a moment of each.

What was over by then is not read: of a unit that was worn for years that is nearly all. A process remembers the rest
with the unit; asked of an earlier moment it reads again.
"""

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from sys import intern
from typing import Final

import msgspec

from service.assessing.aside import aside
from service.assessing.moment import Question
from service.assessing.spoken_of import LONGEST_DAY
from service.assessing.stored_lives import StoredLife, Worn
from service.domain.recall.wearings import PUT_ON, wearings
from service.domain.standing import BEGINNING, FOREVER
from service.domain.wearing import Use
from service.store.wearings_since import Since, WearingOfUnit, wearings_since

FIRST: Final = BEGINNING + LONGEST_DAY


class LifeSince(msgspec.Struct, gc=False, frozen=True):
    """A unit as it is stored, and since when it matters who wore it."""

    life: StoredLife
    since: datetime


async def stored_wearings(question: Question, asked: Sequence[LifeSince | None]) -> list[Worn | None]:
    """Give who wore units, in their order, where that is asked."""
    found = [None if one is None else _known(one) for one in asked]
    unread = {nth: one for nth, one in enumerate(asked) if one is not None and found[nth] is None}
    if unread:
        for nth, worn in zip(unread, await _read(question, [*unread.values()]), strict=True):
            found[nth] = worn
            _note(question, unread[nth].life, worn)
    return found


def _known(one: LifeSince) -> Worn | None:
    worn = one.life.worn
    return None if worn is None or worn.since > one.since else worn


def _note(question: Question, life: StoredLife, worn: Worn) -> None:
    """Remember who wore a unit, if that is remembered itself and there is room, and nobody has read more meanwhile."""
    known = life.worn
    if known is not None and known.since <= worn.since:
        return
    more = worn.weight - (0 if known is None else known.weight)
    if question.known.lives.grows(question.organisation, life.kin, life.version, more):
        life.worn = worn


async def _read(question: Question, asked: Sequence[LifeSince]) -> list[Worn]:
    since = [Since(one.life.unit, max(one.since, FIRST) - LONGEST_DAY) for one in asked]
    rows = await wearings_since(question.conn, question.organisation, since, PUT_ON)
    return await aside(len(asked) + len(rows), lambda: [*_worn(asked, rows)])


def _worn(asked: Sequence[LifeSince], rows: Iterable[WearingOfUnit]) -> Iterator[Worn]:
    """Sort what was read by the units, and tell how long each wearing may have lasted."""
    uses: list[list[Use]] = [[] for _ in asked]
    for nth, at, site, ref, who, ends, known_by, day in rows:
        person = None if who is None else intern(who)  # of names that are said again and again one is kept
        uses[nth].append(Use(at, intern(site), None, ref, person, ends, worn=True, known_by=known_by, day=day))
    for one, used in zip(asked, uses, strict=True):
        own = tuple(wearings(used, one.life.stays, FOREVER))
        until = max([wearing.until for wearing in own if wearing.until is not None], default=BEGINNING)
        yield Worn(one.since, tuple(used) if one.life.entangled else (), own, until)
