"""Affected: the units that openings of a recall bear on at a moment, as the units are judged."""

from collections.abc import Sequence

from service.assessing.lives import units
from service.assessing.moment import Question
from service.assessing.seated import seated
from service.assessing.spoken_of import kins_spoken_of
from service.domain.recall.bearing import reached
from service.domain.recall.opening import Opening
from service.domain.unit import Unit


async def affected(question: Question, openings: Sequence[Opening], sites: frozenset[str] | None) -> list[Unit]:
    """Find the units at these sites (None: all) that any of the openings bears on, by tag; the retired ones, too.

    A component is told with the site of the unit that it is fitted in, and found there.
    """
    kins = await kins_spoken_of(question, openings)
    every = await units(question, kins)
    under = await seated(question, [unit for unit in every if _comes_under(unit, openings, question)], every)
    return [unit for unit in under if sites is None or unit.site in sites]


def _comes_under(unit: Unit, openings: Sequence[Opening], question: Question) -> bool:
    listing = question.world.listing(unit, question.as_at)
    return any(True for opening in openings for _ in reached(unit, listing, opening))
