"""Affected: the units that openings of a recall bear on at a moment, as the units are judged."""

from collections.abc import Sequence

from service.assessing.aside import aside
from service.assessing.lives import Faced, units
from service.assessing.moment import Question
from service.assessing.seated import seated
from service.assessing.spoken_of import kins_spoken_of
from service.domain.recall.bearing import reached
from service.domain.recall.opening import Opening
from service.domain.unit import Unit


async def affected(question: Question, openings: Sequence[Opening], sites: frozenset[str] | None) -> list[Unit]:
    """Find the units at these sites (None: all) that any of the openings bears on, by tag; the retired ones, too.

    What is said of a day alone counts from its beginning: a unit that is registered so is ordered out of use before it
    is one. A component is told with the site of the unit that it is fitted in, and found there.
    """
    kins = await kins_spoken_of(question, openings)
    every = await units(question, kins)
    under = await aside(len(every), lambda: [one.unit for one in every if _comes_under(one, openings, question)])
    found = await seated(question, under, [one.unit for one in every])
    return [unit for unit in found if sites is None or unit.site in sites]


def _comes_under(faced: Faced, openings: Sequence[Opening], question: Question) -> bool:
    """Say whether any opening bears on a unit, as it is or as it is said to be on a day that is not over."""
    now = (faced.unit, question.world.listing(faced.unit, question.as_at))
    listed = [now, *((one.unit, one.listing) for one in faced.ahead)]
    return any(True for opening in openings for unit, listing in listed for _ in reached(unit, listing, opening))
