"""Overdue examination: units in use whose thorough examination is past its due date at the moment asked about.

A row is one stretch of being overdue, named by its unit and its beginning; it is gone once the unit is examined, put
away, or out of scope otherwise. `from` and `to` ask when it began.
"""

from uuid import UUID, uuid5

from service.assessing.exceptions import Count, Inquiry, Place, Report, Row, Severity, counts, newest
from service.assessing.grounds import examination
from service.domain.fold import Story
from service.domain.rules import RULES
from service.domain.standing import REASONS, WORSE
from service.store.overdue_since import Overdue, overdue_since

NAME = "overdue-examination"
RULE = "thorough-examination"
PLACE = next(nth for nth, rule in enumerate(RULES) if rule.name == RULE)
DIGIT = str(WORSE["overdue"])


async def rows(inquiry: Inquiry, before: Place | None, limit: int) -> list[Row]:
    """Give the units that are overdue, the newest first."""
    return newest(await _every(inquiry), before, limit)


async def count(inquiry: Inquiry) -> list[Count]:
    """Count them by site."""
    return counts(inquiry, NAME, await _every(inquiry))


async def _every(inquiry: Inquiry) -> list[Row]:
    question = inquiry.question
    stored = await overdue_since(
        question.conn,
        question.organisation,
        question.as_at,
        place=PLACE,
        digit=DIGIT,
        sites=inquiry.wanted.sites,
        without=inquiry.folded.units,
    )
    folded = (_overdue(story, inquiry) for story in inquiry.folded.stories)
    every = (_row(one) for one in (*stored, *folded) if one is not None)
    return [row for row in every if inquiry.keeps(NAME, row)]


def _overdue(story: Story, inquiry: Inquiry) -> Overdue | None:
    """Find out since when a unit folded in memory has been overdue; None where it is not."""
    since, site = None, ""
    for one in reversed([one for one in story.intervals if one.since <= inquiry.question.as_at]):
        if one.rules[PLACE : PLACE + 1] != DIGIT:
            break
        site = site or one.site
        since = one.since
    unit = story.folded.unit
    return None if since is None else Overdue(unit.unit, unit.tag, site, since)


def _row(one: Overdue) -> Row:
    return Row(
        ref=named(one.unit, one),
        at=one.since,
        site=one.site,
        unit=one.unit,
        tag=one.tag,
        person=None,
        words=(RULE,),
        worn=False,
    )


def named(unit: UUID, one: Overdue) -> UUID:
    """Name a stretch of being overdue."""
    return uuid5(unit, f"{NAME}/{one.since.isoformat()}")


def severity(_row: Row) -> Severity:
    """Say how bad it is: the law's interval is over, or the firm's own."""
    return "high"


def reason(_row: Row) -> str:
    """Say what was found."""
    return REASONS[RULE]


def advice(_row: Row) -> str:
    """Say what to do next."""
    return "Take the unit out of use until a competent person has examined it, and post the examination."


REPORT = Report(
    name=NAME,
    rows=rows,
    count=count,
    grounds=examination,
    severity=severity,
    reason=reason,
    advice=advice,
)
