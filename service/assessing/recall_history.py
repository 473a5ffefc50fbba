"""The histories of what a recall speaks of: of its units, one after the other by tag, and then of its stock."""

from collections.abc import Awaitable, Callable, Iterable
from typing import Final, NamedTuple

from service.assessing.log import Some
from service.assessing.moment import Question
from service.assessing.recall_reached import Reached, by_tag
from service.assessing.stock_history import Stocked
from service.assessing.units import Found, find_one
from service.page import Page, number

STOCK: Final = "stock"
"""Names the stock in a key: it is no key of a unit, which has a space in it."""


class Telling(NamedTuple):
    """Tells of a unit's events, and of those of stock: of so many, behind the first ones."""

    of_unit: Callable[[Question, Found, int, int], Awaitable[Some]]
    of_stock: Callable[[Question, Stocked, int, int], Awaitable[Some]]


async def histories(
    question: Question,
    units: Iterable[Reached],
    stock: Callable[[], Awaitable[Stocked]],
    telling: Telling,
    *,
    after: str | None,
    limit: int,
) -> Page:
    """Give the page behind a key, which names a unit, or the stock, and how many of its events were told.

    The stock is read once the units are told. Raises BadCursor.
    """
    begun, _, told = ("" if after is None else after).rpartition(" ")
    first = number(told)
    every = [] if begun == STOCK else [(key, one) for key, one in by_tag(units) if key >= begun]
    items: list[dict[str, object]] = []
    room = limit
    for key, one in every:
        if room == 0:
            return Page(items=items, next=f"{key} 0", about=question.about())
        behind = first if key == begun else 0
        some = await telling.of_unit(question, await find_one(question, one.unit), behind, room)
        items += some.items
        room -= some.events
        if some.more:
            return Page(items=items, next=f"{key} {behind + some.events}", about=question.about())
    behind = first if begun == STOCK else 0
    some = await telling.of_stock(question, await stock(), behind, room)
    more = f"{STOCK} {behind + some.events}" if some.more else None
    return Page(items=[*items, *some.items], next=more, about=question.about())
