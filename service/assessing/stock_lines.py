"""Every line of stock there is, for reports about all of it: a shelf is folded again when something touched it.

What a process folded it remembers, with the seq up to which it had read. It counts again for a question that knows as
much or more, as long as no event after that seq and up to the question's touches the shelf, no newer definition or
policy counts, its item is counted in the same unit, and all that was folded had happened by the moment asked about.
Where parts of an item were fitted nobody said where nothing of it is remembered, since that rests on where units were.
Of one that rests on expiries told elsewhere (`stock/arrivals.py`) no event may touch any shelf of its item.
"""

from collections.abc import Mapping
from typing import Final

from service.assessing.catalogue import items_of
from service.assessing.moment import Question
from service.assessing.shelves import Shelf, Wanted, shelves, told
from service.assessing.stock import AT_ONCE
from service.domain.stock.ledger import Left, account
from service.domain.stock.traces import ADRIFT, SHELF
from service.known import Folded, Shelves
from service.store.shelves_touched import shelves_touched

AT_A_LEAP: Final = 1_000
"""How many shelves are looked for at a time."""
FAR: Final = 100_000
"""After so many events it is no dearer to fold every shelf again than to find which were touched."""

Line = tuple[Shelf, Left]


async def every_line(question: Question, wanted: Wanted) -> list[Line]:
    """Give every line of all shelves wanted: what there is of it, or how far it is below nothing."""
    memory = question.known.shelves
    await _catch_up(question, memory)
    units = {ref: item.unit for ref, item in items_of(question).items()}
    found: list[Line] = []
    after = ""
    while batch := await shelves(question, wanted, [SHELF], after, AT_A_LEAP):
        known = {shelf: folded for shelf in batch if (folded := memory.folded.get(shelf)) is not None}
        fresh = [shelf for shelf in known if _holds(question, memory, shelf, units.get(shelf.item))]
        found += [(shelf, line) for shelf in fresh for line in known[shelf].lines]
        rest = [shelf for shelf in batch if shelf not in set(fresh)]
        for first in range(0, len(rest), AT_ONCE):
            found += await _fold(question, memory, rest[first : first + AT_ONCE], units)
        after = batch[-1].key
    return found


async def _catch_up(question: Question, memory: Shelves) -> None:
    """Learn which shelves were touched since the memory last did."""
    until = question.judged_to
    if not memory.folded or until - memory.seq > FAR:
        memory.folded.clear()
        memory.touched.clear()
        memory.touched_items.clear()
        memory.seq = until
    if memory.seq < until:
        touched = await shelves_touched(question.conn, question.organisation, after=memory.seq, until=until)
        for subject, seq in touched.items():
            *_, site, item = subject.split(":")
            if site == ADRIFT:
                memory.folded = {shelf: known for shelf, known in memory.folded.items() if shelf[1] != item}
            memory.touched[site, item] = max(seq, memory.touched.get((site, item), 0))
            memory.touched_items[item] = max(seq, memory.touched_items.get(item, 0))
        memory.seq = max(memory.seq, until)


def _holds(question: Question, memory: Shelves, shelf: Shelf, unit: str | None) -> bool:
    """Say whether what was folded of a shelf is what this question would fold."""
    known = memory.folded[shelf]
    if (known.rules_to, known.unit) != (question.rules_to, unit) or known.as_at > question.as_at:
        return False
    touched = memory.touched_items.get(shelf.item, 0) if known.borrowing else memory.touched.get(shelf, 0)
    return touched <= known.seq <= question.judged_to <= memory.seq


async def _fold(question: Question, memory: Shelves, batch: list[Shelf], units: Mapping[str, str]) -> list[Line]:
    known = await told(question, batch)
    found: list[Line] = []
    for shelf in batch:
        lines = account(known.changes[shelf]).lines
        found += [(shelf, line) for line in lines]
        old = memory.folded.get(shelf)
        settled = not known.ahead and shelf.item not in known.adrift
        if settled and (old is None or old.seq <= question.judged_to):
            unit, rules_to = units.get(shelf.item), question.rules_to
            borrowing = shelf in known.borrowing
            memory.folded[shelf] = Folded(question.judged_to, rules_to, question.as_at, unit, lines, borrowing)
    return found
