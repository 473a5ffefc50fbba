"""Which of some events were taken back, as known."""

from collections.abc import Iterable
from typing import Final
from uuid import UUID

from service.assessing.aside import pages
from service.assessing.moment import Question
from service.domain.recorded import Recorded
from service.domain.voiding import every_voiding
from service.store.events_of_subjects import events_of_subjects

EVENTS: Final = 5000
"""Events asked about at a time."""


async def taken_back(question: Question, rows: Iterable[Recorded]) -> set[UUID]:
    """Name the events taken back; a voiding may be taken back itself."""
    return set(every_voiding(await voidings_of(question, rows)))


async def voidings_of(question: Question, told: Iterable[Recorded]) -> list[Recorded]:
    """Give what voids the events, and what voids that."""
    voidings: list[Recorded] = []
    named = [row.event.id for row in told]
    while named:
        found: dict[int, Recorded] = {}
        for page in pages(named, EVENTS):
            subjects = [f"event:{event}" for event in page]
            read = await events_of_subjects(
                question.conn, question.organisation, subjects, until_seq=question.judged_to
            )
            found |= {row.seq: row for row in read}
        voidings += (found[seq] for seq in sorted(found))
        named = [row.event.id for row in found.values()]
    return voidings
