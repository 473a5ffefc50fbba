"""Taken back: the voidings of events, and those of the voidings, as far as they were known."""

from collections.abc import Iterable

from service.assessing.moment import Question
from service.domain.kinds.voided import Voided
from service.domain.recorded import Recorded
from service.store.events_of_subjects import events_of_subjects


async def voidings_of(question: Question, rows: Iterable[Recorded]) -> list[Recorded]:
    """Read the voidings of events, those of the voidings, and so on."""
    found: list[Recorded] = []
    named = [row.event.id for row in rows]
    while named:
        subjects = [f"event:{event}" for event in named]
        told = await events_of_subjects(question.conn, question.organisation, subjects, until_seq=question.judged_to)
        new = [row for row in told if isinstance(row.event, Voided)]
        found += new
        named = [row.event.id for row in new]
    return found
