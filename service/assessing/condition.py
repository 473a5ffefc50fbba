"""Condition: the changes that are expected of what is fitted in the units of a site, as they are known."""

from collections.abc import Iterator

from service.assessing.moment import Question
from service.assessing.recalls import known
from service.assessing.stories import past, stretches, time_passed
from service.domain.demand.fitted import Expected, expected_in
from service.domain.intervals import MOMENT
from service.domain.recall.opening import Opening
from service.domain.scene import Scene
from service.domain.standing import FOREVER
from service.recording.rows import SEEN, left_of
from service.store.outlooks_of_units import outlooks_of_units


async def condition(question: Question, site: str) -> list[Expected]:
    """Give the changes expected at a site; nobody changes anything in what is retired or cannot be found."""
    at, today = question.as_at, question.world.day(question.as_at, site)
    folded = await past(question)
    there = {one.unit for one in await stretches(question, folded, at, at + MOMENT, [site])}
    found = await outlooks_of_units(question.conn, question.organisation, there - folded.units)
    openings = list(going_on(question))
    left = [SEEN.decode(packed).folded for packed in found.values()]
    left += [left_of(one.folded) for one in folded.stories if one.folded.unit.unit in there]
    units = (time_passed(one, at, question)[0] for one in left)
    return [
        expected
        for unit in units
        if not unit.retired and not unit.missing
        for expected in expected_in(unit, Scene(at, FOREVER, question.world, unit), today, openings)
    ]


def going_on(question: Question) -> list[Opening]:
    """Give the openings of recalls in earnest that nobody closed or took back, and that ask something of parts."""
    return [opening for opening, closed in asking(question) if not closed]


def asking(question: Question) -> Iterator[tuple[Opening, bool]]:
    """Give the openings in earnest that nobody took back and that ask something, each with whether it is closed.

    Closing ends the campaign, not its effect (R34).
    """
    for campaign in known(question).values():
        for opening in () if campaign.rehearsal else campaign.standing:
            if opening.action != "information":
                yield opening, campaign.closing is not None
