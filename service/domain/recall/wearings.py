"""Wearings: how long whoever wore a unit may have had it on, by what the records tell.

A wearing ends as it was said to, and no later than the unit leaves the hand. Without an end it may have lasted until
then, or until anybody, the same person too, is next known to put the unit on. A failed check, and a failure in use,
show a moment alone: another person's wearing has ended by then, one's own may go on. Of what states its day alone that
is any moment of the day: bad news counts at its beginning (R1), and what it ends may have lasted until its end.
"""

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from datetime import datetime
from itertools import islice
from typing import Final

import msgspec
from msgspec.structs import replace

from service.domain.standing import FOREVER
from service.domain.stays import Stay
from service.domain.stretches import sooner
from service.domain.wearing import KnownBy, Use

MOMENTS: Final[frozenset[KnownBy]] = frozenset({"failed-check", "failed-in-use"})
PUT_ON: Final[tuple[KnownBy, ...]] = ("worn", "checked")
"""What shows that somebody put a unit on: whatever was worn before has ended by then, if no end was said."""


class Wearing(msgspec.Struct, gc=False, frozen=True):
    """Who wore a unit, at which site: it counts at `at`, up to `until` if that was said, within `since` and `ends`.

    `ends` is None where it may go on.
    """

    person: str
    at: datetime
    until: datetime | None
    since: datetime
    ends: datetime | None
    known_by: KnownBy
    site: str


def lasting(one: Wearing, at: datetime) -> Wearing:
    """Give a wearing by a moment later than its beginning: it was said to last no longer."""
    return one if one.until is None or one.until <= at else replace(one, until=at, ends=at)


def wearings(uses: Sequence[Use], stays: Sequence[Stay], at: datetime) -> Iterator[Wearing]:
    """Give the wearings of a unit by a moment, of its uses in order; by FOREVER as long as they were said to last."""
    worn = [(use, use.person) for use in uses if use.worn and use.person is not None and use.at <= at]
    if not worn:
        return
    left, gone = _left(stays, at), 0
    by_day = [one for one in worn if _may_be_later(one[0])]
    for (use, person), taken in zip(worn, _taken(worn), strict=True):
        while gone < len(left) and left[gone] <= use.at:
            gone += 1
        ends = left[gone] if gone < len(left) else None
        if use.until is not None:
            until = min(use.until, at if ends is None else min(ends, at))
            yield Wearing(person, use.at, until, use.at, until, use.known_by, use.site)
            continue
        last = use.at if use.known_by in MOMENTS else sooner(ends, taken)
        if by_day and use.known_by not in MOMENTS:
            last = sooner(last, _shown(by_day, use.at, person))
        if use.day is None:
            yield Wearing(person, use.at, None, use.at, last, use.known_by, use.site)
        else:
            reach = None if last is None else max(last, use.day)
            yield Wearing(person, use.at, None, min(use.at, use.day), reach, use.known_by, use.site)


def _left(stays: Sequence[Stay], at: datetime) -> list[datetime]:
    """Give when the unit left a hand by a moment, in order."""
    held = [stay for stay in stays if stay.holder is not None]
    goes_on = {(stay.since, stay.holder) for stay in held}
    over = (one for one in held if one.until <= at and one.until < FOREVER)
    return sorted(one.until for one in over if (one.until, one.holder) not in goes_on)


def _taken(worn: Sequence[tuple[Use, str]]) -> list[datetime | None]:
    """Give of each wearing when the unit is next known to be put on, or another to have it on, later than that.

    From the last to the first: who has it on next, since when, and when their own wearings have ended by. Those of one
    moment say nothing of each other (`later`).
    """
    found: list[datetime | None] = []
    moment = None
    who = ""
    since: datetime | None = None
    own: datetime | None = None
    later = (who, since, own)
    for use, person in reversed(worn):
        if use.at != moment:
            moment, later = use.at, (who, since, own)
        found.append(later[2] if person == later[0] else later[1])
        if not _may_be_later(use):
            before = own if person == who else since
            who, since, own = person, use.at, before if use.known_by in MOMENTS else use.at
    return found[::-1]


def _shown(by_day: Sequence[tuple[Use, str]], at: datetime, person: str) -> datetime | None:
    """Give by when bad news ends a wearing of a moment that states no more than a day which began later."""
    found: datetime | None = None
    for one, who in islice(by_day, bisect_right(by_day, at, key=lambda one: one[0].at), None):
        if found is not None and one.at >= found:
            break
        if one.day is not None and (who != person or one.known_by not in MOMENTS):
            found = one.day if found is None else min(found, one.day)
    return found


def _may_be_later(use: Use) -> bool:
    """Say whether it counts as a day begins and may have been at any moment of that."""
    return use.day is not None and use.day > use.at
