"""The cautious reading of stock, for recalls: what may still be there counts as there.

A quantity without a lot may be of any, and is a line of its own that nothing said of a lot diminishes. What was taken
without a lot may have been of any line: it comes off its own only as far as it is more than all others had, less what
was taken so before; they keep what they had, which may still be there, too. A count says anew what there is: what was
taken before it is no longer held against it. What came or was counted by a day alone is told as that ends, and may
have been what was taken since it began. What was taken and was not there is owed to nothing, so that no box is lost by
a guess.
"""

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Final

from service.domain.stock.changes import Change
from service.domain.stock.keeping import Lines, Reading
from service.domain.stock.lines import Line, line_of
from service.domain.stock.shelf import NOTHING, total

Shelf = tuple[str, str, str]
"""A site, an item and a unit: what was taken of it without a lot may have been of any of its lines."""
ByDay = tuple[datetime, Change]
"""What came or was counted by a day alone, with the beginning of that."""
LONGEST: Final = timedelta(days=2)
"""No day lasts longer, whatever happened to its zone."""


class _Days:
    """What came or was counted by days alone, by shelf in order of their ends."""

    def __init__(self, by_day: Iterable[ByDay]) -> None:
        self._told: defaultdict[Shelf, list[ByDay]] = defaultdict(list)
        for one in sorted(by_day, key=_ended):
            self._told[_shelf(line_of(one[1]))].append(one)

    def around(self, own: Line, at: datetime) -> Decimal:
        """Give how much of other lines days told that had begun and were not over."""
        told = self._told.get(_shelf(own), [])
        near = told[bisect_right(told, at, key=_ended) : bisect_right(told, at + LONGEST, key=_ended)]
        return sum((one.quantity for begins, one in near if begins <= at and line_of(one) != own), NOTHING)


def as_said(by_day: Iterable[ByDay] = ()) -> Reading:
    """Give the reading of changes from their beginning, with what there is of them by days alone."""
    days = _Days(by_day)
    left: defaultdict[Line, Decimal] = defaultdict(Decimal)
    whole: defaultdict[Shelf, Decimal] = defaultdict(Decimal)
    taken: defaultdict[Shelf, Decimal] = defaultdict(Decimal)
    touched: list[Line] = []

    def share(change: Change, lines: Lines) -> tuple[Change, ...]:
        while touched:  # by the change before; where there are many lines it is slow to add them all up again and again
            line = touched.pop()
            before, left[line] = left[line], total(lines[line].shelf)
            whole[_shelf(line)] += left[line] - before
        own = line_of(change)
        shelf = _shelf(own)
        if change.step == "count":
            taken.pop(shelf, None)
        if change.step == "take" and change.lot is None:
            others = whole[shelf] - left[own] + days.around(own, change.at)
            elsewhere = max(NOTHING, min(change.quantity, others - taken[shelf]))
            taken[shelf] += elsewhere
            if elsewhere == change.quantity:
                return ()
            change = change._replace(quantity=change.quantity - elsewhere)
        touched.append(own)
        return (change,)

    return Reading(share, owes=False)


def _ended(one: ByDay) -> datetime:
    return one[1].at


def _shelf(line: Line) -> Shelf:
    return line.site, line.item, line.unit
