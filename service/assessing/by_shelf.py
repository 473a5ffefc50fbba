"""Lists that go on from shelf to shelf: no more of them are read than a page needs."""

from collections.abc import Awaitable, Callable, Collection
from typing import NamedTuple

from service.assessing.catalogue import items_of
from service.assessing.moment import Question
from service.assessing.shelves import Shelf, Wanted, shelves
from service.assessing.stock import AT_ONCE
from service.domain.errors import BadCursor
from service.page import Page

Key = tuple[str, ...]


class Line(NamedTuple):
    """A row, and its place in the list: first that of its shelf."""

    key: Key
    row: dict[str, object]


async def page_of(
    question: Question,
    wanted: Wanted,
    sorts: Collection[str],
    lines: Callable[[Collection[Shelf]], Awaitable[list[Line]]],
    after: str | None,
    limit: int,
) -> Page:
    """Read shelves on from where the page before ended, until there are lines enough. Raises BadCursor."""
    passed: Key = () if after is None else tuple(after.split(" "))
    if after is not None and ":" not in passed[0]:
        raise BadCursor
    found: list[Line] = []
    batch = [Shelf(*passed[0].split(":", 1))] if passed else await shelves(question, wanted, sorts, "", AT_ONCE)
    while batch and len(found) <= limit:
        found += [line for line in await lines(batch) if line.key > passed]
        batch = await shelves(question, wanted, sorts, batch[-1].key, AT_ONCE)
    return Page(
        items=[line.row for line in found[:limit]],
        next=" ".join(found[limit - 1].key) if len(found) > limit else None,
        about=question.about(),
    )


def names(question: Question) -> dict[str, str]:
    """Name the items that are defined at the moment."""
    return {ref: item.name for ref, item in items_of(question).items()}
