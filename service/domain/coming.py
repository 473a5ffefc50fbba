"""Coming: the uses that time will make of a unit if nothing happens to it, told as it is folded.

What is told does not depend on where versions of the reference data begin that change nothing for the unit.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime
from itertools import islice
from typing import Final

import msgspec
from msgspec.structs import replace

from service.domain.intervals import Interval
from service.domain.scene import HORIZON, Scene
from service.domain.standing import FOREVER
from service.domain.uses import against
from service.domain.wearing import safe_until

TOLD_BEFOREHAND: Final = 6
"""How many uses to come are told, and looked for by every fold: a week of days, or two days of three shifts."""


class Coming(msgspec.Struct, gc=False, frozen=True, array_like=True):
    """The uses that time makes of a unit before `until`, if nothing happens to it: when, in order.

    Of them the first `covered` are covered by a check, and the first `sound` with nothing else against them either.
    """

    uses: tuple[datetime, ...] = ()
    covered: int = 0
    sound: int = 0
    until: datetime = FOREVER


def coming(scenes: Sequence[Scene], intervals: Sequence[Interval]) -> Coming:
    """Tell the uses to come of stretches of time that follow each other, by how the unit stands then."""
    until = scenes[0].since + HORIZON
    found = list(islice(_uses(scenes, until), TOLD_BEFOREHAND + 1))
    if len(found) > TOLD_BEFOREHAND:
        until = found.pop()[0]
    covered = next((nth for nth, (_, safe) in enumerate(found) if not safe), len(found))
    told = Coming(tuple(at for at, _ in found), covered, until=until)
    return replace(told, sound=_sound(told, intervals))


def _uses(scenes: Sequence[Scene], until: datetime) -> Iterator[tuple[datetime, bool]]:
    """Give the uses, as `pass_time` counts them, and whether a check covers each."""
    for scene in scenes:
        unit = scene.unit
        if not unit.retired and scene.counts_working_days:
            safe = safe_until(unit, scene.since)
            yield from ((at, at < safe) for _, at in scene.further_uses(unit, min(scene.until, until)))


def _sound(told: Coming, intervals: Sequence[Interval]) -> int:
    """Say how many of the covered uses come before the first that anything is against."""
    covered = told.uses[: told.covered]
    return next((nth for nth, at in enumerate(covered) if against(standing_at(intervals, at))), told.covered)


def standing_at(intervals: Sequence[Interval], moment: datetime) -> Interval:
    """Give the last interval that has begun by a moment."""
    return next(one for one in reversed(intervals) if one.since <= moment)
