"""Every unit of the kins that openings of a recall may speak of, whether they do or not."""

from collections.abc import Sequence

from service.assessing.lives import Lived, lives_by_page
from service.assessing.moment import Question
from service.assessing.spoken_of import kins_spoken_of
from service.domain.recall.opening import Opening


async def lived_by_then(question: Question, openings: Sequence[Opening]) -> list[Lived]:
    """Give the units that there were at the moment, by tag."""
    pages = [page async for page in lives_by_page(question, await kins_spoken_of(question, openings))]
    return sorted([one for page in pages for one in page.every], key=lambda one: one.life.unit.tag)
