"""Exceptions that the fold tells: stored where that is as it was known, else of what was folded in memory."""

from collections.abc import Iterator

from service.assessing.exceptions import Count, Inquiry, Place, Row, newest
from service.assessing.exceptions import counts as counted
from service.domain.finding import Finding
from service.domain.unit import Unit
from service.domain.uses import against
from service.domain.wearing import Use
from service.store.exceptions_of import exceptions_of

WITHOUT_CHECK = "used-without-check"
FORBIDDEN = "used-while-not-to-be-used"


async def rows_of(report: str, inquiry: Inquiry, before: Place | None, limit: int) -> list[Row]:
    """Give so many rows of a report after a place, newest first."""
    question = inquiry.question
    stored = await exceptions_of(
        question.conn, question.organisation, report, inquiry.chosen(report), before=before, limit=limit
    )
    rows = [
        Row(
            ref=one.ref,
            at=one.at,
            site=one.site,
            unit=one.unit,
            tag=one.tag,
            person=one.person,
            words=tuple(one.words.split(",")),
            worn=one.worn,
        )
        for one in stored
    ]
    if inquiry.wanted.named is not None and inquiry.wanted.named <= {row.ref for row in rows}:
        return rows  # all that was asked for by name: what time alone made need not be worked out
    return newest([*rows, *await _in_memory(report, inquiry)], before, limit)


async def count_of(report: str, inquiry: Inquiry) -> list[Count]:
    """Count the rows of a report by site."""
    stored = [Count(one.site, one.rows, one.acknowledged) for one in await inquiry.counted() if one.report == report]
    return [*stored, *counted(inquiry, report, await _in_memory(report, inquiry))]


async def _in_memory(report: str, inquiry: Inquiry) -> list[Row]:
    rows = list(_of_stories(report, inquiry))
    if report in {WITHOUT_CHECK, FORBIDDEN}:
        for outlook, use in await inquiry.by_time():
            now = next((one for one in outlook.intervals if one.since <= use.at < one.until), None)
            rows += of_use(report, use, outlook.folded.unit, () if now is None else against(now))
    return [row for row in rows if inquiry.keeps(report, row)]


def _of_stories(report: str, inquiry: Inquiry) -> Iterator[Row]:
    for story in inquiry.folded.stories:
        unit = story.folded.unit
        for use in story.uses:
            yield from of_use(report, use, unit, use.forbidden)
        yield from (of_finding(one, unit) for one in story.findings if one.report == report)


def of_use(report: str, use: Use, unit: Unit, forbidden: tuple[str, ...]) -> Iterator[Row]:
    """Give what a report finds of a use."""
    found = {WITHOUT_CHECK: use.lapse, FORBIDDEN: use.at if forbidden else None}.get(report)
    if found is not None:
        yield Row(
            ref=use.ref,
            at=found,
            site=use.site,
            unit=unit.unit,
            tag=unit.tag,
            person=use.person,
            words=forbidden if report == FORBIDDEN else (WITHOUT_CHECK,),
            worn=use.worn,
        )


def of_finding(one: Finding, unit: Unit) -> Row:
    """Give a finding as a row."""
    return Row(
        ref=one.event,
        at=one.at,
        site=one.site,
        unit=unit.unit,
        tag=unit.tag,
        person=one.person,
        words=one.reasons,
    )
