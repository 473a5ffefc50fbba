"""Stored exposure: who had and wore units, as their folds left it, as far as it may have lasted past a moment of each.

What was over by then is not read: of a unit that was handed out and worn for years that is nearly all. Of units whose
tags hang together all hands are read, all the same. A process remembers the rest with the unit; asked of an earlier
moment it reads again.
"""

from collections.abc import Iterable, Sequence
from datetime import datetime
from sys import intern
from typing import Final

import msgspec

from service.assessing.aside import aside
from service.assessing.moment import Question
from service.assessing.spoken_of import LONGEST_DAY
from service.assessing.stored_lives import Exposure, StoredLife, stays_told
from service.domain.recall.wearings import PUT_ON, wearings
from service.domain.standing import BEGINNING, FOREVER
from service.domain.stays import Stay
from service.domain.wearing import Use
from service.store.hands_since import hands_since
from service.store.wearings_since import Since, WearingOfUnit, wearings_since

FIRST: Final = BEGINNING + LONGEST_DAY


class LifeSince(msgspec.Struct, gc=False, frozen=True):
    """A unit as it is stored, and since when it matters who had and wore it."""

    life: StoredLife
    since: datetime


async def stored_exposure(question: Question, asked: Sequence[LifeSince | None]) -> list[Exposure | None]:
    """Give who had and wore units, in their order, where that is asked."""
    found = [None if one is None else _known(one) for one in asked]
    unread = {nth: one for nth, one in enumerate(asked) if one is not None and found[nth] is None}
    if unread:
        for nth, exposure in zip(unread, await _read(question, [*unread.values()]), strict=True):
            found[nth] = exposure
            _note(question, unread[nth].life, exposure)
    return found


def _known(one: LifeSince) -> Exposure | None:
    known = one.life.exposure
    return None if known is None or known.since > one.since else known


def _note(question: Question, life: StoredLife, exposure: Exposure) -> None:
    """Remember who had and wore a unit, if that is remembered itself and there is room, and nobody has read more."""
    known = life.exposure
    if known is not None and known.since <= exposure.since:
        return
    more = exposure.weight - (0 if known is None else known.weight)
    if question.known.lives.grows(question.organisation, life.kin, life.version, more):
        life.exposure = exposure


async def _read(question: Question, asked: Sequence[LifeSince]) -> list[Exposure]:
    conn, organisation = question.conn, question.organisation
    rows = await wearings_since(conn, organisation, [_since(one.life, one.since) for one in asked], PUT_ON)
    uses = await aside(len(rows), lambda: _divided(len(asked), rows))
    begins = [_had_since(one, used) for one, used in zip(asked, uses, strict=True)]
    hands = await hands_since(conn, organisation, [_since(one.life, at) for one, at in zip(asked, begins, strict=True)])
    many = len(rows) + sum(len(told) for told, _ in hands)
    return await aside(many, lambda: [*map(_exposure, asked, uses, map(stays_told, hands))])


def _since(life: StoredLife, moment: datetime) -> Since:
    return Since(life.unit, max(moment, FIRST) - LONGEST_DAY)


def _divided(many: int, rows: Iterable[WearingOfUnit]) -> list[list[Use]]:
    """Sort what was read by the units."""
    uses: list[list[Use]] = [[] for _ in range(many)]
    for nth, at, site, ref, who, ends, known_by, day in rows:
        person = None if who is None else intern(who)  # of names that are said again and again one is kept
        uses[nth].append(Use(at, intern(site), None, ref, person, ends, worn=True, known_by=known_by, day=day))
    return uses


def _had_since(one: LifeSince, uses: Sequence[Use]) -> datetime:
    """Say since when it matters who had a unit: a wearing ends, too, as the unit leaves the hand.

    With those who had an entangled one it may be told until when others were worn.
    """
    return BEGINNING if one.life.entangled else min([one.since, *(use.at for use in uses[:1])])


def _exposure(one: LifeSince, uses: Sequence[Use], hands: tuple[Stay, ...]) -> Exposure:
    """Tell how long each wearing may have lasted."""
    own = tuple(wearings(uses, hands, FOREVER))
    until = max([wearing.until for wearing in own if wearing.until is not None], default=BEGINNING)
    return Exposure(one.since, hands, tuple(uses) if one.life.entangled else (), own, until)
