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
    known: defaultdict[Shelf, set[Line]] = defaultdict(set)
    taken: defaultdict[Shelf, Decimal] = defaultdict(Decimal)

    def share(change: Change, lines: Lines) -> tuple[Change, ...]:
        own = line_of(change)
        shelf = (own.site, own.item, own.unit)
        if change.step == "count":
            taken.pop(shelf, None)
        if change.step != "take" or change.lot is not None:
            known[shelf].add(own)
            return (change,)
        others = sum((total(lines[line].shelf) for line in known[shelf] - {own}), NOTHING)
        elsewhere = max(NOTHING, min(change.quantity, others - taken[shelf]))
        taken[shelf] += elsewhere
        left = change.quantity - elsewhere
        return (change._replace(quantity=left),) if left else ()

    return Reading(share, owes=False)
