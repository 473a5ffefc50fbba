"""Tags: which unit each means now."""

from collections.abc import Set as AbstractSet
from uuid import UUID

from service.assessing.moment import Question
from service.recording.loading import load_drafts


async def units_meant(question: Question, tags: AbstractSet[str]) -> dict[str, UUID]:
    """Give the unit that each tag means: the one that has it, else the last that had it."""
    found: dict[str, UUID] = {}
    for draft in await load_drafts(question.conn, question.organisation, tags=sorted(tags)):
        for tag in tags & set(draft.tags):
            unit = draft.stored(tag)
            if unit is not None:
                found[tag] = unit.unit.unit
    return found
