"""Stocktaking: what a count says of each line that it may speak of.

A count is of everything there that it may speak of: without a lot, of all lots, so that what it misses is of the oldest
expiry and what it finds beyond is of no lot. Lots counted by name at the same place, within twelve hours before or
after (ours; time enough to walk a store), were left out of it: then it is of the rest. What a count of a lot finds
beyond what there was had lain among what came without a lot.
"""

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Iterable, Iterator
from datetime import timedelta
from decimal import Decimal
from typing import Final

from service.domain.stock.changes import Change
from service.domain.stock.keeping import Kept, Lines
from service.domain.stock.likeness import alike, is_of, part_of
from service.domain.stock.lines import line_of, unit_of
from service.domain.stock.shelf import EMPTY, NOTHING, Shelf, total

TOGETHER: Final = timedelta(hours=12)
"""Counts of a place so near each other are one stocktaking."""


class Counts:
    """The counts by name, by place, so that those are found that one without a lot goes with."""

    def __init__(self, changes: Iterable[Change]) -> None:
        self._named: dict[str | None, list[Change]] = defaultdict(list)
        for change in sorted(changes, key=lambda one: one.at):
            if change.step == "count" and change.lot is not None:
                self._named[change.place].append(change)
        self._at = {place: [one.at for one in named] for place, named in self._named.items()}

    def beside(self, change: Change) -> list[Change]:
        """Give the counts by name of the stocktaking that a count is part of; none where it names a lot itself."""
        if change.lot is not None or change.place not in self._at:
            return []
        at = self._at[change.place]
        first, last = bisect_left(at, change.at - TOGETHER), bisect_right(at, change.at + TOGETHER)
        unit = unit_of(change.unit)
        return [one for one in self._named[change.place][first:last] if unit_of(one.unit) == unit]


def counted(change: Change, lines: Lines, counts: Counts) -> Iterator[Change]:
    """Give what a count says of each line that it may speak of, be it that there is none."""
    named = counts.beside(change)
    every = alike(change, lines)
    meant = [one for one in every if is_of(one.said, change) and not any(is_of(one.said, name) for name in named)]
    others = [one for one in meant if line_of(one.said) != line_of(change)]
    own = next((one.shelf for one in meant if line_of(one.said) == line_of(change)), EMPTY)
    there = _there(own, change.place)
    more = change.quantity - there - sum((_there(one.shelf, change.place) for one in others), NOTHING)
    for kept in others:
        known = _there(kept.shelf, change.place)
        found = known + max(-known, min(more, _room(kept.shelf, change.place)))
        more -= found - known
        yield part_of(change, kept, found)
    yield change._replace(quantity=there + more)
    untold = [one for one in every if not is_of(one.said, change)]
    yield from _from_among(change, untold, more - _room(own, change.place))


def _from_among(change: Change, untold: Iterable[Kept], more: Decimal) -> Iterator[Change]:
    """Take what was found beyond off the lines that it may have lain among."""
    for kept in untold:
        much = min(more, total(kept.shelf))
        if much > 0:
            more -= much
            yield part_of(change, kept, much)._replace(step="take")


def _there(shelf: Shelf, place: str | None) -> Decimal:
    """Give how much of a line a count should find: what was taken from no place in particular was all from here."""
    if place is None:
        return max(NOTHING, total(shelf))
    return max(NOTHING, shelf.placed.get(place, NOTHING) - shelf.owed)


def _room(shelf: Shelf, place: str | None) -> Decimal:
    """Give how much more of it may be found there that was on record without a place."""
    if place is None:
        return NOTHING
    return shelf.loose + min(shelf.owed, shelf.placed.get(place, NOTHING))
