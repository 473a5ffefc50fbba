"""Spoken of: the kins whose units criteria of a recall may speak of, or once might have."""

from collections.abc import Sequence

from service.assessing.moment import Question
from service.domain.kinds.recall_opened import Criterion
from service.domain.label import reach
from service.domain.recall.matching import speaks_of_parts
from service.domain.recall.opening import Opening
from service.domain.recall.traces import listed
from service.recording.recalled import kins_bare, kins_recalled
from service.store.kins_with_parts import Lots, kins_with_parts
from service.store.refs_traced import refs_traced


async def kins_spoken_of(question: Question, openings: Sequence[Opening]) -> set[str]:
    """Name the kins: by what sat in units as it is stored, or, of what was known in the past, by all that was told."""
    conn, organisation, rulebook = question.conn, question.organisation, question.world.rulebook
    criteria = [criterion for opening in openings for criterion in opening.criteria]
    of_parts = [criterion for criterion in criteria if speaks_of_parts(criterion)]
    if question.of_the_past or len(of_parts) < len(criteria):
        return await kins_recalled(conn, organisation, openings, rulebook)
    lots = await _lots(question, of_parts)
    found = await kins_with_parts(conn, organisation, lots, question.as_at) if lots else set()
    return found | await kins_bare(conn, organisation, of_parts, listed(rulebook))


async def _lots(question: Question, criteria: Sequence[Criterion]) -> list[Lots]:
    """Give the lots that criteria of parts name, by item."""
    every = any(criterion.item is None for criterion in criteria)
    items = await refs_traced(question.conn, question.organisation, "part") if every else ()
    return [
        (item, first, last)
        for criterion in criteria
        for item in (items if criterion.item is None else [criterion.item])
        for first, last in reach(
            criterion.lots if criterion.lot is None else [criterion.lot], criterion.lot_from, criterion.lot_to
        )
    ]
