"""What counts did not find any more, so that it was used without a word; what a recount put right was never used.

Between two receipts or moves the differences of counts are netted: what one finds again takes back what those before it
missed, the latest first. What one found beyond what was known is looked at with care, since it may have come without a
word and be used from then on: it explains only what a count of the same place and lot misses within two days (ours: a
store that is counted every week uses what it misses). What was said to be fitted stays used in any case.
"""

from collections.abc import Iterable
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Final, NamedTuple
from uuid import UUID

from service.domain.label import sorting
from service.domain.stock.ledger import Entry
from service.domain.stock.shelf import NOTHING

SOON: Final = timedelta(days=2)
"""How soon a count that found too much is put right."""
ENDS: Final = frozenset({"received", "moved-in", "moved-out"})
"""What ends a stretch: from then on other stock is counted."""


class Missed(NamedTuple):
    """So much was not found any more, by the event of the count."""

    event: UUID
    quantity: Decimal


class _Found(NamedTuple):
    """So much was found beyond what was known, at a moment."""

    at: datetime
    quantity: Decimal


def missed(entries: Iterable[Entry]) -> list[Missed]:
    """Give what was not found, of entries in their order."""
    settled: list[Missed] = []
    open_: list[Missed] = []
    found: dict[tuple[str | None, str], _Found] = {}
    for entry in entries:
        if entry.what in ENDS:
            settled += open_
            open_, found = [], {}
        elif entry.what == "counted":
            counted = entry.place, "" if entry.lot is None else sorting(entry.lot)
            before = found.pop(counted, None)
            if entry.change < 0:
                known = before.quantity if before is not None and entry.at - before.at <= SOON else NOTHING
                open_.append(Missed(entry.event, max(NOTHING, -entry.change - known)))
            else:
                open_, beyond = _taken_back(open_, entry.change)
                found[counted] = _Found(entry.at, beyond)
    return [one for one in (*settled, *open_) if one.quantity]


def _taken_back(open_: list[Missed], quantity: Decimal) -> tuple[list[Missed], Decimal]:
    """Take back what was missed, the latest first; give what is left of it, and of the quantity."""
    left, rest = list(open_), quantity
    while left and rest:
        last = left.pop()
        much = min(last.quantity, rest)
        rest -= much
        if last.quantity > much:
            left.append(Missed(last.event, last.quantity - much))
    return left, rest
