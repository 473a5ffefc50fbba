"""The cautious reading of stock, for recalls: what may still be there counts as there.

A quantity without a lot may be of any, and is a line of its own that nothing said of a lot diminishes. What was taken
without a lot may have been of any line: it comes off its own only as far as it is more than all others had, less what
was taken so before; they keep what they had, which may still be there, too. A count says anew what there is: what was
taken before it is no longer held against it. What came or was counted by a day alone is told as that ends, and may
have been what was taken since it began. A count of a day alone may have been before whatever came to its line that day:
it takes nothing of that away. What was taken by a day alone may be what a count of that day missed already: it comes
off nothing then. What was taken and was not there is owed to nothing, so that no box is lost by a guess.
"""

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from decimal import Decimal
from itertools import takewhile
from typing import Final

from service.domain.stock.changes import Change
from service.domain.stock.keeping import Kept, Lines, Reading
from service.domain.stock.lines import Line, line_of
from service.domain.stock.shelf import NOTHING, total

Shelf = tuple[str, str, str]
"""A site, an item and a unit: what was taken of it without a lot may have been of any of its lines."""
ByDay = tuple[datetime, Change]
"""What is said of a day alone, with the beginning of that."""
Came = tuple[datetime, Decimal]
"""When something came, and how much."""
LONGEST: Final = timedelta(days=2)
"""No day lasts longer, whatever happened to its zone."""


class _Days:
    """What is said of days alone; what came or was counted by them, by shelf in order of their ends."""

    def __init__(self, by_day: Iterable[ByDay]) -> None:
        every = list(by_day)
        self._began = {(change.event, change.nth): begins for begins, change in every}
        self._told: defaultdict[Shelf, list[ByDay]] = defaultdict(list)
        for one in sorted((one for one in every if one[1].step != "take"), key=_ended):
            self._told[_shelf(line_of(one[1]))].append(one)

    def began(self, change: Change) -> datetime | None:
        """Give when the day of a change began that states that alone; None for any other."""
        return self._began.get((change.event, change.nth))

    def around(self, own: Line, at: datetime) -> Decimal:
        """Give how much of other lines days told that had begun and were not over."""
        told = self._told.get(_shelf(own), [])
        near = told[bisect_right(told, at, key=_ended) : bisect_right(told, at + LONGEST, key=_ended)]
        return sum((one.quantity for begins, one in near if begins <= at and line_of(one) != own), NOTHING)


def as_said(by_day: Iterable[ByDay] = ()) -> Reading:
    """Give the reading of changes from their beginning, with what there is of them by days alone."""
    return Reading(_Cautious(_Days(by_day)), owes=False)


class _Cautious:
    """What each change, in order, is for its line."""

    def __init__(self, days: _Days) -> None:
        self._days = days
        self._left: defaultdict[Line, Decimal] = defaultdict(Decimal)
        self._whole: defaultdict[Shelf, Decimal] = defaultdict(Decimal)
        self._taken: defaultdict[Shelf, Decimal] = defaultdict(Decimal)
        self._came: defaultdict[Line, list[Came]] = defaultdict(list)
        self._counted: dict[Line | Shelf, datetime] = {}
        self._touched: Line | None = None

    def __call__(self, change: Change, lines: Lines) -> tuple[Change, ...]:
        """Give it as it is read: nothing, or less, of what may have been taken of others."""
        self._add_up(lines)
        own = line_of(change)
        read = change
        if change.step == "put":
            self._came[own].append((change.at, change.quantity))
        elif change.step == "count":
            read = self._count(change, own, lines.get(own))
        else:
            read = self._take(change, own)
        if read.step == "take" and not read.quantity:
            return ()
        self._touched = own
        return (read,)

    def _add_up(self, lines: Lines) -> None:
        """Take note of what the change before left; where there are many lines it is slow to add them all up anew."""
        line, self._touched = self._touched, None
        if line is not None:
            before, self._left[line] = self._left[line], total(lines[line].shelf)
            self._whole[_shelf(line)] += self._left[line] - before

    def _count(self, change: Change, own: Line, known: Kept | None) -> Change:
        shelf, begins = _shelf(own), self._days.began(change)
        self._taken.pop(shelf, None)
        self._counted[own] = self._counted[shelf] = change.at
        return change if begins is None else _with_what_came(change, known, self._came[own], begins)

    def _take(self, change: Change, own: Line) -> Change:
        shelf, begins = _shelf(own), self._days.began(change)
        last = self._counted.get(own if change.lot is not None else shelf)
        if begins is not None and last is not None and last >= begins:
            return change._replace(quantity=NOTHING)
        if change.lot is not None:
            return change
        others = self._whole[shelf] - self._left[own] + self._days.around(own, change.at)
        elsewhere = max(NOTHING, min(change.quantity, others - self._taken[shelf]))
        self._taken[shelf] += elsewhere
        return change._replace(quantity=change.quantity - elsewhere)


def _with_what_came(change: Change, known: Kept | None, came: Sequence[Came], begins: datetime) -> Change:
    """Give a count of a day with what came on that day, which it may not have seen yet, as far as it is there."""
    that_day = takewhile(lambda one: one[0] >= begins, reversed(came))
    there = NOTHING if known is None else total(known.shelf)
    if known is not None and change.place is not None:
        there = known.shelf.placed.get(change.place, NOTHING) + known.shelf.loose
    more = change.quantity + sum((quantity for _, quantity in that_day), NOTHING)
    return change._replace(quantity=max(change.quantity, min(more, there)))


def _ended(one: ByDay) -> datetime:
    return one[1].at


def _shelf(line: Line) -> Shelf:
    return line.site, line.item, line.unit
