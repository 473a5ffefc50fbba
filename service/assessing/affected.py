"""Affected: the units that openings of a recall bear on at a moment, as the units are judged."""

from collections.abc import Sequence

from service.assessing.lives import units
from service.assessing.moment import Question
from service.assessing.spoken_of import kins_spoken_of
from service.domain.recall.bearing import reached
from service.domain.recall.opening import Opening
from service.domain.unit import Unit


async def affected(question: Question, openings: Sequence[Opening], sites: frozenset[str] | None) -> list[Unit]:
    """Find the units at these sites (None: all) that any of the openings bears on, by tag; the retired ones, too."""
    kins = await kins_spoken_of(question, openings)
    there = [unit for unit in await units(question, kins) if sites is None or unit.site in sites]
    return [unit for unit in there if _comes_under(unit, openings, question)]


def _comes_under(unit: Unit, openings: Sequence[Opening], question: Question) -> bool:
    listing = question.world.listing(unit, question.as_at)
    return any(True for opening in openings for _ in reached(unit, listing, opening))
