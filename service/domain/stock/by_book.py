"""The reading of ledgers: what an event leaves unsaid is taken to be what is at hand, and nothing taken is forgotten.

**What is taken** comes off what is stated of it; of several lots that it may be, oldest expiry first, none last, of one
expiry by the order of lots (R34), those that lie in the place it names before others. What is fitted comes off stock
that had expired only where there is no other; what is thrown away comes off that first, as the oldest. A lot on record
nowhere may be of the stock that came without one. What goes beyond all that is owed by the line as it was stated: that
is below nothing.

**What comes** is first what lines below nothing are short of, as far as it may be of them.

**What is counted**: `stocktaking.py`.
"""

from collections.abc import Iterable

from service.domain.stock.changes import Change
from service.domain.stock.keeping import Lines, Reading
from service.domain.stock.likeness import alike, in_turn
from service.domain.stock.shelf import total
from service.domain.stock.stocktaking import Counts, counted


def by_book(changes: Iterable[Change]) -> Reading:
    """Give the reading of the changes of one item at one site."""
    counts = Counts(changes)

    def share(change: Change, lines: Lines) -> list[Change]:
        if change.step == "count":
            return list(counted(change, lines, counts))
        sign = 1 if change.step == "take" else -1
        return in_turn(change, ((kept, sign * total(kept.shelf)) for kept in alike(change, lines)))

    return Reading(share, owes=True)
