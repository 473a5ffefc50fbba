"""Spoken of: the kins whose units criteria of a recall may speak of, or once might have."""

from collections.abc import Collection, Iterator, Sequence
from datetime import timedelta
from typing import Final

from service.assessing.moment import Question
from service.domain.kinds.recall_opened import Criterion
from service.domain.label import reach
from service.domain.recall.matching import speaks_of_parts
from service.domain.recall.opening import Opening, supposed
from service.domain.recall.traces import Stretch, listed
from service.recording.recalled import kins_bare, kins_recalled
from service.store.kins_with_parts import kins_with_parts
from service.store.refs_traced import refs_traced

LONGEST_DAY: Final = timedelta(days=2)
"""What is said of a day alone is stored at its end, and no day lasts longer, whatever happened to its zone.

Who had and wore a unit is read by it, too: it is no less than the 48 hours of `wearings_since.py` and its index.
"""


async def kins_spoken_of(question: Question, openings: Sequence[Opening]) -> dict[str, int | None]:
    """Name the kins: by what sat in units as it is stored, or, of what was known in the past, by all that was told.

    Each with the version at which it is stored, where that was read on the way.
    """
    conn, organisation, rulebook = question.conn, question.organisation, question.world.rulebook
    criteria = [criterion for opening in openings for criterion in opening.criteria]
    of_parts = [criterion for criterion in criteria if speaks_of_parts(criterion)]
    if question.of_the_past:
        return dict.fromkeys(await kins_recalled(conn, organisation, openings, rulebook))
    of_units = tuple(criterion for criterion in criteria if not speaks_of_parts(criterion))
    units = (
        await kins_recalled(conn, organisation, [supposed(of_units, question.as_at)], rulebook) if of_units else set()
    )
    return dict.fromkeys(units) | (await _kins_with_parts(question, of_parts) if of_parts else {})


async def _kins_with_parts(question: Question, of_parts: Sequence[Criterion]) -> dict[str, int | None]:
    """Name the kins in whose units criteria of parts speak of what sat there, or of what nothing was said of."""
    conn, organisation, rulebook = question.conn, question.organisation, question.world.rulebook
    every = any(criterion.item is None for criterion in of_parts)
    traced = await refs_traced(conn, organisation, "part") if every else ()
    lots = {lot for criterion in of_parts for lot in _lots(criterion, traced)}
    items = sorted({item for criterion in of_parts for item in _items(criterion, traced)})
    found = await kins_with_parts(conn, organisation, items, lots, question.as_at + LONGEST_DAY)
    return dict.fromkeys(await kins_bare(conn, organisation, of_parts, listed(rulebook))) | found


def _items(criterion: Criterion, traced: Collection[str]) -> Collection[str]:
    """Give the items that a criterion may speak of, of those that were ever fitted."""
    return traced if criterion.item is None else [criterion.item]


def _lots(criterion: Criterion, traced: Collection[str]) -> Iterator[Stretch]:
    """Give the lots that a criterion of parts names, of the items."""
    named, items = criterion.lots if criterion.lot is None else [criterion.lot], tuple(_items(criterion, traced))
    for first, last in reach(named, criterion.lot_from, criterion.lot_to):
        yield items, first, last
