"""Consumption: what was used of each item at each site, by days, weeks or months of the site."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator
from datetime import date, timedelta
from decimal import Decimal
from typing import Final, Literal

import msgspec

from service.assessing.by_shelf import Line, names, page_of
from service.assessing.moment import Question
from service.assessing.shelves import EVERY, Shelf, Wanted, with_adrift
from service.assessing.stock import Use, uses_of
from service.domain.period import months_from
from service.page import Page

Length = Literal["day", "week", "month"]
RECENT: Final = timedelta(weeks=12)
"""How far back use is told where no first day is asked for."""
DAY: Final = timedelta(days=1)
WEEK: Final = timedelta(weeks=1)


class Spent(msgspec.Struct, frozen=True, kw_only=True):
    """Which use: of an item, from a day to another, the last included, added up by what; None asks nothing."""

    item: str | None = None
    since: date | None = None
    until: date | None = None
    by: Length = "week"


async def page(question: Question, sites: frozenset[str] | None, spent: Spent, after: str | None, limit: int) -> Page:
    """List what was used, period by period; those without any use are left out. Raises BadCursor."""
    named = names(question)
    until = spent.until or date.max
    since = spent.since or min(until, question.as_at.date()) - RECENT
    wanted = await with_adrift(question, Wanted(sites=sites, item=spent.item), since)

    async def lines(batch: Collection[Shelf]) -> list[Line]:
        used = await uses_of(question, batch, since, until)
        return [
            Line(
                (shelf.key, unit, first.isoformat()),
                {
                    "site": shelf.site,
                    "item": shelf.item,
                    "name": named.get(shelf.item),
                    "unit": unit,
                    "from": max(first, since),
                    "to": min(_last_day(first, spent.by), until, question.world.day(question.as_at, shelf.site)),
                    "used": float(fitted),
                    "discarded": float(thrown),
                },
            )
            for shelf, unit, first, fitted, thrown in _summed(used, spent.by)
        ]

    return await page_of(question, wanted, EVERY, lines, after, limit)


def _summed(used: Iterable[Use], by: Length) -> Iterator[tuple[Shelf, str, date, Decimal, Decimal]]:
    fitted: dict[tuple[Shelf, str, date], Decimal] = defaultdict(Decimal)
    thrown: dict[tuple[Shelf, str, date], Decimal] = defaultdict(Decimal)
    for use in used:
        key = (Shelf(use.site, use.item), use.unit, _first_day(use.day, by))
        fitted[key] += Decimal(repr(use.used))
        thrown[key] += Decimal(repr(use.discarded))
    for key in sorted(fitted, key=lambda told: (told[0].key, *told[1:])):
        yield *key, fitted[key], thrown[key]


def _first_day(day: date, by: Length) -> date:
    """Give the first day of its period; weeks begin on Monday (ISO 8601)."""
    if by == "month":
        return day.replace(day=1)
    return day if by == "day" else day - day.weekday() * DAY


def _last_day(first: date, by: Length) -> date:
    if by == "month":
        return months_from(first, 1) - DAY
    return first if by == "day" else first + WEEK - DAY
