"""The histories of the units that a recall speaks of, one after the other, by tag."""

from collections.abc import Awaitable, Callable, Iterable
from typing import TypeAlias

from service.assessing.log import Some
from service.assessing.moment import Question
from service.assessing.recall_reached import Reached, by_tag
from service.assessing.units import Found, find_one
from service.page import Page, number

Telling: TypeAlias = Callable[[Question, Found, int, int], Awaitable[Some]]
"""Tells of a unit's events: of so many, behind the first ones."""


async def histories(
    question: Question, units: Iterable[Reached], telling: Telling, *, after: str | None, limit: int
) -> Page:
    """Give the page behind a key, which names a unit and how many of its events were told. Raises BadCursor."""
    begun, _, told = ("" if after is None else after).rpartition(" ")
    first = number(told)
    every = [(key, one) for key, one in by_tag(units) if key >= begun]
    items: list[dict[str, object]] = []
    room = limit
    for key, one in every:
        if room == 0:
            return Page(items=items, next=f"{key} 0", about=question.about())
        behind = first if key == begun else 0
        some = await telling(question, await find_one(question, one.unit), behind, room)
        items += some.items
        room -= some.events
        if some.more:
            return Page(items=items, next=f"{key} {behind + some.events}", about=question.about())
    return Page(items=items, about=question.about())
