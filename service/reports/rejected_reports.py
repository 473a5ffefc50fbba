"""Rejected reports: reports of a failure that could not be accepted and are not resolved (design 3.6, R45).

They head the exceptions. A report belongs to the site where its unit is; of a tag that nobody knows, to the site that
the message named. To acknowledge one resolves nothing: the message is retried, or dismissed by another than its sender.
"""

from datetime import UTC
from uuid import UUID

from service.assessing.exceptions import Inquiry, Row
from service.assessing.found_whole import found_whole
from service.assessing.grounds import nothing
from service.assessing.stories import stretches
from service.domain.intervals import MOMENT
from service.domain.standing import REASONS
from service.store.open_reports import OpenReport, open_reports

NAME = "rejected-reports"
WORD = "unresolved-report"


async def every(inquiry: Inquiry) -> list[Row]:
    """Give the reports that are not resolved."""
    question = inquiry.question
    reports = await open_reports(question.conn, question.organisation, question.known_at)
    if not reports:
        return []
    tags = {story.folded.unit.tag: story.folded.unit.unit for story in inquiry.folded.stories}
    units = {*(unit for one in reports for unit in one.units), *tags.values()}
    told = await stretches(question, inquiry.folded, question.as_at, question.as_at + MOMENT, units=units)
    sites = {one.unit: one.interval.site for one in told}
    return [_row(one, tags, sites) for one in reports]


def _row(one: OpenReport, tags: dict[str, UUID], sites: dict[UUID, str]) -> Row:
    unit = tags.get(one.tag) or next((unit for unit in one.units if unit in sites), None)
    return Row(
        ref=one.id,
        at=one.received_at.astimezone(UTC),
        site=one.site if unit is None else sites.get(unit, one.site),
        unit=unit,
        tag=one.tag,
        words=(WORD,),
    )


def reason(row: Row) -> str:
    """Say what was found."""
    return REASONS[WORD] if row.unit is not None else f"{REASONS[WORD]}; nobody knows a unit of this tag"


REPORT = found_whole(
    NAME,
    every,
    grounds=nothing,
    severity="high",  # a unit that failed may be in use
    reason=reason,
    advice=lambda row: f"Look at the unit, then retry the message or dismiss it with a reason: /v1/rejected/{row.ref}",
)
