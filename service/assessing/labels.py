"""Labels: which tags are printed."""

from typing import NamedTuple

import msgspec

from service.assessing import unit_list, units
from service.assessing.moment import Question
from service.assessing.things import Sites, by_tag
from service.domain.errors import NotFound

SHEET = 200
"""Labels on one sheet, at most."""
BEHIND = "~"
"""Comes after whatever follows a tag in the order of a list."""
TAGS = "tags"


class Wanted(msgspec.Struct, frozen=True, kw_only=True):
    """Which labels: of units with these tags, else of those of a model, from behind a tag on."""

    tags: tuple[str, ...] = ()
    model: str | None = None
    after: str | None = None


class Tags(NamedTuple):
    """The tags to print, and the tag behind which more follow, None where none do."""

    tags: list[str]
    last: str | None = None


async def tag_now(question: Question, sites: Sites, tag: str, parameter: str | None = None) -> str:
    """Give the tag that a unit has now, of one that it has or had last. Raises NotFound."""
    for match in await by_tag(question, sites, tag):
        return match.unit.tag
    raise NotFound(units.ASSET, parameter=parameter, named=None if parameter is None else tag)


async def tags(question: Question, sites: Sites, wanted: Wanted) -> Tags:
    """Give the tags of the units asked for. Raises NotFound for a tag, site or model that there is not."""
    if wanted.tags:
        return Tags([await tag_now(question, sites, tag, TAGS) for tag in wanted.tags])
    after = None if wanted.after is None else f"{wanted.after} {BEHIND}"
    listed = await unit_list.page(question, sites, unit_list.Wanted(model=wanted.model), after, SHEET)
    found = [str(line["tag"]) for line in listed.items if line["phase"] != "retired"]
    return Tags(found, None if listed.next is None else str(listed.items[-1]["tag"]))
