"""The fold of stock: changes in their order, each put on the shelves of the lines that a reading has it bear on."""

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from typing import NamedTuple

from service.domain.stock.changes import Change, order
from service.domain.stock.lines import Line, line_of, with_expiries
from service.domain.stock.shelf import EMPTY, Shelf, count, owing, owing_on, put, take, total


class Kept(NamedTuple):
    """A line as it was last told of where some came or was counted, and what there is of it."""

    said: Change
    shelf: Shelf


Lines = Mapping[Line, Kept]


class Reading(NamedTuple):
    """How changes are read: `share` gives one as what it is for each line, given what there is.

    `owes` has what was taken and was not there owed, instead of forgotten, and forgets a line of which nothing is left.
    """

    share: Callable[[Change, Lines], Collection[Change]]
    owes: bool


class Turn(NamedTuple):
    """What a change, or its share of a line, did to a shelf."""

    change: Change
    line: Line
    before: Shelf
    after: Shelf


def keep(changes: Iterable[Change], reading: Reading, lines: dict[Line, Kept]) -> Iterator[tuple[Change, list[Turn]]]:
    """Fold changes in order into `lines`, and tell what each did; one that is told twice is one."""
    for change in sorted(with_expiries(set(changes)), key=order):
        turns = []
        for part in reading.share(change, lines):
            line = line_of(part)
            known = lines.get(line)
            before = EMPTY if known is None else known.shelf
            after = _after(before, part, owes=reading.owes)
            said = part if known is None or part.step != "take" else known.said
            lines[line] = Kept(said, after)
            turns.append(Turn(part, line, before, after))
        for line in {turn.line for turn in turns} if reading.owes else ():
            if not total(lines[line].shelf):
                del lines[line]
        yield change, turns


def _after(shelf: Shelf, change: Change, *, owes: bool) -> Shelf:
    if change.step == "put":
        return put(shelf, change.place, change.quantity)
    if change.step == "count":
        left, forgotten = count(shelf, change.place, change.quantity)
        return owing_on(left, forgotten) if owes else left
    left, beyond = take(shelf, change.place, change.quantity)
    return owing(left, beyond) if owes else left
