"""Grounds: the events that rows of a report rest on, by their seqs."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from uuid import UUID

from service.assessing.exceptions import Row
from service.assessing.moment import Question
from service.domain.check import CheckEvent
from service.domain.facts import Fact
from service.domain.kin import UnitFacts, prepare
from service.domain.kinds.issued import Issued
from service.domain.standing import BREACHES
from service.domain.view import at_moment
from service.recording.loading import load_drafts, load_rows
from service.store.events_by_ids import events_by_ids

Grounds = dict[UUID, list[int]]
Told = tuple[UnitFacts, dict[UUID, int]]
"""A unit with its facts in order, and the seqs of its kin's events and of what opened recalls."""


async def nothing(_question: Question, _rows: Sequence[Row]) -> Grounds:
    """Name nothing: what was found is in no log."""
    return {}


async def as_read(_question: Question, rows: Sequence[Row]) -> Grounds:
    """Name what was read with the rows."""
    return {row.ref: sorted(row.seqs) for row in rows}


async def itself(question: Question, rows: Sequence[Row]) -> Grounds:
    """Name the event that a row is about."""
    found = await events_by_ids(question.conn, question.organisation, [row.ref for row in rows])
    return {event: [one.recorded.seq] for event, one in found.items()}


async def of_stock(question: Question, rows: Sequence[Row]) -> Grounds:
    """Name the event since which the line of stock that a row is about has been as it is."""
    named = {row.ref: row.stock.by for row in rows if row.stock is not None}
    found = await events_by_ids(question.conn, question.organisation, named.values())
    return {ref: [found[event].recorded.seq] for ref, event in named.items()}


async def use_made(question: Question, rows: Sequence[Row]) -> Grounds:
    """Name the wearing, the issue it was made under, and the last check before it."""
    units = await _units(question, rows)
    return {row.ref: _seqs(_of_use(row, units[row.unit]), units[row.unit]) for row in rows if row.unit in units}


async def forbidden(question: Question, rows: Sequence[Row]) -> Grounds:
    """Name the wearing, the issue it was made under, and what spoke against the unit then."""
    units = await _units(question, rows)
    found: Grounds = {}
    for row in rows:
        if row.unit in units:
            told = units[row.unit]
            issues = (event for event in _of_use(row, told) if not isinstance(_event(told, event), CheckEvent))
            found[row.ref] = _seqs([*issues, *_speaking(told, row.at, question)], told)
    return found


async def examination(question: Question, rows: Sequence[Row]) -> Grounds:
    """Name what the examination's due date was reckoned from."""
    units = await _units(question, rows)
    return {
        row.ref: _seqs(_speaking(units[row.unit], row.at, question, "thorough-examination"), units[row.unit])
        for row in rows
        if row.unit in units
    }


async def _units(question: Question, rows: Sequence[Row]) -> dict[UUID | None, Told]:
    """Load the kins of rows as they were known, and give their units."""
    found: dict[UUID | None, Told] = {}
    tags = sorted({row.tag for row in rows if row.tag is not None})
    for draft in await load_drafts(question.conn, question.organisation, tags=tags):
        await load_rows(
            question.conn,
            question.organisation,
            draft,
            question.world,
            until_seq=question.judged_to,
            known_at=question.known_at,
        )
        seqs = question.recall_seqs | {row.event.id: row.seq for row in draft.old or ()}
        units = prepare(draft.old or (), draft.reports, question.world).units
        found |= {unit.start.unit.unit: (unit, seqs) for unit in units}
    return found


def _of_use(row: Row, told: Told) -> Iterator[UUID]:
    """Name the events behind a use: the last issue and the last check until then, and the wearing."""
    facts = [fact for fact in told[0].facts if isinstance(fact, Fact) and not fact.echo and fact.at <= row.at]
    for kind in (Issued, CheckEvent):
        last = next((fact.event.id for fact in reversed(facts) if isinstance(fact.event, kind)), None)
        if last is not None:
            yield last
    if row.worn:
        yield row.ref


def _event(told: Told, event: UUID) -> object:
    return next(fact.event for fact in told[0].facts if isinstance(fact, Fact) and fact.event.id == event)


def _speaking(told: Told, at: datetime, question: Question, rule: str | None = None) -> Iterator[UUID]:
    """Name the events by which rules speak against a unit at a moment."""
    moment = at_moment(told[0].start, told[0].facts, at, question.world)
    for name, span in moment.rules.items():
        if span.standing in BREACHES and rule in {None, name} and name != "pre-use-check":
            yield from span.because


def _seqs(events: Iterable[UUID], told: Told) -> list[int]:
    return sorted({told[1][event] for event in events if event in told[1]})
