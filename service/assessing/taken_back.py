"""Which of some events were taken back, as known."""

from collections.abc import Iterable
from uuid import UUID

from service.assessing.moment import Question
from service.domain.recorded import Recorded
from service.domain.voiding import every_voiding
from service.store.events_of_subjects import events_of_subjects


async def taken_back(question: Question, rows: Iterable[Recorded]) -> set[UUID]:
    """Name the events taken back; a voiding may be taken back itself."""
    return set(every_voiding(await voidings_of(question, rows)))


async def voidings_of(question: Question, rows: Iterable[Recorded]) -> list[Recorded]:
    """Give what voids the events, and what voids that."""
    voidings: list[Recorded] = []
    named = [row.event.id for row in rows]
    while named:
        subjects = [f"event:{event}" for event in named]
        found = await events_of_subjects(question.conn, question.organisation, subjects, until_seq=question.judged_to)
        voidings += found
        named = [row.event.id for row in found]
    return voidings
