"""Whereabouts: at which site units were, and in which phase, since a recall was opened."""

from collections.abc import Iterable, Sequence
from datetime import datetime
from itertools import pairwise
from typing import Final, NamedTuple
from uuid import UUID

from service.assessing.aside import pages
from service.assessing.lives import Lived, Turn
from service.assessing.moment import Question
from service.store.whereabouts_of_units import whereabouts_of_units

UNITS: Final = 2000
"""Units whose whereabouts are read at a time."""


class Where(NamedTuple):
    """From when to when (None: still) a unit was at a site, in a phase."""

    since: datetime
    until: datetime | None
    site: str
    phase: str


async def whereabouts(question: Question, every: Iterable[Lived], begins: datetime) -> dict[UUID, list[Where]]:
    """Give by unit where it was from a moment on, in order; before the first of it a unit was where that says."""
    units = {one.life.unit.unit: one for one in every}
    found = {unit: _lasting(_turning(one.turns, begins)) for unit, one in units.items() if one.turns}
    for page in pages([unit for unit in units if unit not in found], UNITS):
        turns: dict[UUID, list[Turn]] = {}
        for row in await whereabouts_of_units(question.conn, question.organisation, page, begins, question.as_at):
            turns.setdefault(row.unit, []).append((row.since, row.site, row.phase))
        found |= {unit: _lasting(mine) for unit, mine in turns.items()}
    return found


def _turning(turns: Sequence[Turn], begins: datetime) -> list[Turn]:
    """Leave out what was over by a moment, and what turned to the same site and phase, as the stored ones are read."""
    over = sum(after[0] <= begins for after in turns[1:])
    lasting = turns[over:]
    return [lasting[0], *(after for one, after in pairwise(lasting) if after[1:] != one[1:])]


def _lasting(turns: list[Turn]) -> list[Where]:
    """Let each turn last until the next."""
    ended = [Where(one[0], after[0], *one[1:]) for one, after in pairwise(turns)]
    return [*ended, Where(turns[-1][0], None, *turns[-1][1:])]
