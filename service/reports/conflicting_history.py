"""Conflicting history: events that contradict what was on record before them, as the fold sees it now.

A row belongs to the site that the event was posted for. What it contradicts of a unit that is at another site by then
is for that site's keys, and for those of the whole firm.
"""

from collections.abc import Iterator, Sequence

from msgspec.structs import replace

from service.assessing.exceptions import Count, Inquiry, Place, Report, Row, Severity, counts, newest
from service.assessing.grounds import itself
from service.assessing.stored_exceptions import count_of, rows_of
from service.domain.afar import seen_from_afar
from service.domain.conflict import CODES, Conflict
from service.domain.event import Event
from service.domain.facts import instant
from service.domain.finding import CONFLICTING
from service.domain.kinds.trained import Trained
from service.domain.people import contradictions
from service.domain.voiding import voidings
from service.recording.showing import theirs
from service.store.events_by_ids import events_by_ids
from service.store.sites_at import sites_at

FORBIDDEN_ACTS = frozenset({"released-without-ground", "own-adverse-event", "self-granted-competence"})
ELSEWHERE = "contradicts the history of a unit that is at another site, whose keys are told how"
OUT_OF_USE = ("worn-while-", "issued-while-")


async def rows(inquiry: Inquiry, before: Place | None, limit: int) -> list[Row]:
    """Give the conflicts of units and, beside them, those of what was said of persons."""
    of_units = await _as_told(inquiry, await rows_of(CONFLICTING, inquiry, before, limit))
    return newest([*of_units, *_of_persons(inquiry)], before, limit)


async def _as_told(inquiry: Inquiry, rows: Sequence[Row]) -> list[Row]:
    """Give rows as whoever asks may have them: of a unit that is elsewhere at the moment, without what is known there.

    The first of a conflict's words is its code.
    """
    question = inquiry.question
    if question.reach is None or not rows:
        return list(rows)
    homes = await sites_at(question.conn, question.organisation, {row.unit for row in rows if row.unit}, question.as_at)
    homes |= {
        story.folded.unit.unit: one.site
        for story in inquiry.folded.stories
        for one in story.intervals
        if one.since <= question.as_at < one.until
    }
    hidden = {row.ref for row in rows if row.unit is None or not theirs(question.reach, [homes.get(row.unit, "")])}
    events = await events_by_ids(question.conn, question.organisation, hidden)
    return [
        replace(row, words=_from_afar(events[row.ref].recorded.event, row.words)) if row.ref in hidden else row
        for row in rows
    ]


def _from_afar(event: Event, words: Sequence[str]) -> tuple[str, ...]:
    """Give the codes among the words that are told of a unit elsewhere."""
    return tuple(one.code for one in seen_from_afar(event, [Conflict(word) for word in words if word in CODES]))


async def count(inquiry: Inquiry) -> list[Count]:
    """Count them by site."""
    return [*await count_of(CONFLICTING, inquiry), *counts(inquiry, CONFLICTING, _of_persons(inquiry))]


def _of_persons(inquiry: Inquiry) -> Iterator[Row]:
    """Give the trainings by which somebody granted themselves a competence (R49)."""
    question = inquiry.question
    known = [row for row in question.known.rows if row.seq <= question.judged_to]
    taken_back = voidings(known)
    for one in known:
        event = one.event
        if not isinstance(event, Trained) or event.id in taken_back:
            continue
        found = contradictions(event)
        row = Row(
            ref=event.id,
            at=instant(event, None, question.world),
            site=event.site,
            unit=None,
            tag=None,
            person=event.person,
            words=tuple(conflict.code for conflict in found),
        )
        if found and inquiry.keeps(CONFLICTING, row):
            yield row


def severity(row: Row) -> Severity:
    """Say how bad it is: high where a unit left its withdrawal, or came into a hand it should not be in."""
    if not FORBIDDEN_ACTS.isdisjoint(row.words) or any(word.startswith(OUT_OF_USE) for word in row.words):
        return "high"
    return "low" if row.words == ("before-registration",) else "medium"


def reason(row: Row) -> str:
    """Say what contradicts what."""
    return "; ".join(CODES[word] for word in row.words if word in CODES) or ELSEWHERE


def advice(_row: Row) -> str:
    """Say what to do next."""
    return "Find out what happened: void what was posted wrongly, or post what is missing."


REPORT = Report(
    name=CONFLICTING,
    rows=rows,
    count=count,
    grounds=itself,
    severity=severity,
    reason=reason,
    advice=advice,
)
