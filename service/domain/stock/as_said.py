"""The cautious reading of stock, for recalls: what may still be there counts as there.

A quantity without a lot may be of any, and is a line of its own that nothing said of a lot diminishes. What was taken
without a lot may have been of any line: it comes off its own only as far as it is more than all others had, less what
was taken so before; they keep what they had, which may still be there, too. A count says anew what there is: what was
taken before it is no longer held against it. What was taken and was not there is owed to nothing, so that no box is
lost by a guess.
"""

from collections import defaultdict
from decimal import Decimal

from service.domain.stock.changes import Change
from service.domain.stock.keeping import Lines, Reading
from service.domain.stock.lines import Line, line_of
from service.domain.stock.shelf import NOTHING, total

Shelf = tuple[str, str, str]
"""A site, an item and a unit: what was taken of it without a lot may have been of any of its lines."""


def as_said() -> Reading:
    """Give the reading of changes from their beginning."""
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
            elsewhere = max(NOTHING, min(change.quantity, whole[shelf] - left[own] - taken[shelf]))
            taken[shelf] += elsewhere
            if elsewhere == change.quantity:
                return ()
            change = change._replace(quantity=change.quantity - elsewhere)
        touched.append(own)
        return (change,)

    return Reading(share, owes=False)


def _shelf(line: Line) -> Shelf:
    return line.site, line.item, line.unit
