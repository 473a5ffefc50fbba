"""Tags at sites: which tags mean a unit that is at some sites, as a key that is bound to those may speak of it."""

from collections.abc import Collection

from service.assessing.lives import units
from service.assessing.moment import Question
from service.assessing.seated import seated
from service.assessing.tags import units_meant_at
from service.store.kins_with_tags import kins_with_tags


async def tags_at(question: Question, tags: Collection[str], sites: frozenset[str] | None) -> set[str]:
    """Name the tags that meant a unit at any of the sites at the moment; without sites all of them."""
    if sites is None:
        return {*tags}
    meant = await units_meant_at(question, {(tag, question.as_at) for tag in tags})
    kins = await kins_with_tags(question.conn, question.organisation, tags)
    every = [faced.unit for faced in await units(question, dict.fromkeys(kins))]
    named = await seated(question, [unit for unit in every if unit.unit in meant.values()], every)
    there = {unit.unit for unit in named if unit.site in sites}
    return {tag for (tag, _), unit in meant.items() if unit in there}
