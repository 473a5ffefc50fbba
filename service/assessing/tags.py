"""Tags: which unit each means, now and at a moment."""

from collections import defaultdict
from collections.abc import Set as AbstractSet
from datetime import datetime
from uuid import UUID

from service.assessing.moment import Question
from service.domain.facts import Key
from service.domain.placing import place_all
from service.domain.voiding import every_voiding
from service.recording.loading import load_drafts
from service.store.events_of_subjects import events_of_subjects
from service.store.kins_with_tags import kins_with_tags
from service.store.units_of_kins import units_of_kins


async def units_meant(question: Question, tags: AbstractSet[str]) -> dict[str, UUID]:
    """Give the unit that each tag means: the one that has it, else the last that had it."""
    found: dict[str, UUID] = {}
    for draft in await load_drafts(question.conn, question.organisation, tags=sorted(tags)):
        for tag in tags & set(draft.tags):
            unit = draft.stored(tag)
            if unit is not None:
                found[tag] = unit.unit.unit
    return found


async def units_meant_at(
    question: Question, asked: AbstractSet[tuple[str, datetime]]
) -> dict[tuple[str, datetime], UUID]:
    """Give the unit that each tag meant at a moment, as known, after whatever happened in that.

    Where a kin is one tag and one unit there is nothing to ask; else the events of its tags tell.
    """
    tags = await kins_with_tags(question.conn, question.organisation, {tag for tag, _ in asked})
    units: defaultdict[str, list[UUID]] = defaultdict(list)
    for row in await units_of_kins(question.conn, question.organisation, tags):
        units[row.kin].append(row.unit)
    plain = {mine[0]: units[kin][0] for kin, mine in tags.items() if len(mine) == 1 and len(units[kin]) == 1}
    others = [f"asset:{tag}" for mine in tags.values() for tag in mine if tag not in plain]
    rows = await events_of_subjects(question.conn, question.organisation, others, until_seq=question.judged_to)
    identity = place_all(rows, every_voiding(rows), question.world).identity
    found = {(tag, at): plain[tag] if tag in plain else identity.unit(tag, after_all(at)) for tag, at in asked}
    return {one: unit for one, unit in found.items() if unit is not None}


def after_all(at: datetime) -> Key:
    """Give the place after all that happens at a moment."""
    return (at, True, 100, "", 0, b"", True)
