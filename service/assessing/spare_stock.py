"""The events that tell of the stock a recall speaks of."""

from collections.abc import Iterable
from datetime import datetime

from service.assessing.moment import Question
from service.domain.event import StockEvent
from service.domain.facts import instant
from service.domain.kinds.filter_replaced import FilterReplaced
from service.domain.kinds.part_replaced import PartReplaced
from service.domain.kinds.recall_opened import Criterion
from service.domain.recall.matching import speaks_of_parts
from service.domain.recall.spare import Fit, Spare, spares
from service.domain.recall.traces import beginnings, matched
from service.domain.voiding import every_voiding
from service.store.events_of_subjects import events_of_subjects
from service.store.subjects_beginning import subjects_beginning

Told = tuple[datetime, StockEvent | Fit]


async def spare_stock(question: Question, criteria: Iterable[Criterion]) -> list[Spare]:
    """Give the spare stock that the criteria speak of, at the moment."""
    of_parts = [criterion for criterion in criteria if speaks_of_parts(criterion)]
    items = {f"item:{criterion.item}" for criterion in of_parts if criterion.item is not None}
    if any(criterion.item is None for criterion in of_parts):
        items |= question.world.rulebook.items.timelines.keys()
    subjects = [*sorted(items), *await _fitted(question, of_parts)]
    rows = await events_of_subjects(question.conn, question.organisation, subjects, until_seq=question.judged_to)
    voidings = await events_of_subjects(
        question.conn,
        question.organisation,
        [f"event:{row.event.id}" for row in rows],
        until_seq=question.judged_to,
    )
    taken_back = every_voiding(voidings)
    told: list[Told] = []
    for row in rows:
        event = row.event
        if isinstance(event, StockEvent | FilterReplaced | PartReplaced) and event.id not in taken_back:
            at = instant(event, None, question.world)
            if at <= question.as_at:
                told.append((at, event))
    return spares(told, of_parts) if of_parts else []


async def _fitted(question: Question, criteria: Iterable[Criterion]) -> list[str]:
    """Name the traces of the parts that the criteria may speak of."""
    wanted = list(criteria)
    found: list[str] = []
    for beginning in sorted(beginnings(wanted, {})):
        async for page in subjects_beginning(question.conn, question.organisation, beginning):
            found += [trace for trace in page if matched(wanted, trace, {})]
    return found
