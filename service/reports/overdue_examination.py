"""Overdue examination: units in use whose thorough examination is past its due date at the moment asked about.

A row is one stretch of being overdue, named by its unit and its beginning; it is gone once the unit is examined, put
away, or out of scope otherwise. `from` and `to` ask when it began.
"""

from uuid import UUID, uuid5

from service.assessing.exceptions import Inquiry, Row
from service.assessing.found_whole import found_whole
from service.assessing.grounds import examination
from service.domain.fold import Story
from service.domain.rules import RULES
from service.domain.standing import REASONS, WORSE
from service.store.overdue_since import Overdue, overdue_since

NAME = "overdue-examination"
RULE = "thorough-examination"
PLACE = next(nth for nth, rule in enumerate(RULES) if rule.name == RULE)
DIGIT = str(WORSE["overdue"])


async def every(inquiry: Inquiry) -> list[Row]:
    """Give the units that are overdue."""
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
    return [_row(one) for one in (*stored, *folded) if one is not None]


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
        words=(RULE,),
        worn=False,
    )


def named(unit: UUID, one: Overdue) -> UUID:
    """Name a stretch of being overdue."""
    return uuid5(unit, f"{NAME}/{one.since.isoformat()}")


REPORT = found_whole(
    NAME,
    every,
    grounds=examination,
    severity="high",  # the law's interval is over, or the firm's own
    reason=lambda _: REASONS[RULE],
    advice=lambda _: "Take the unit out of use until a competent person has examined it, and post the examination.",
)
