"""A report as it is shown: a page of its rows, or how many there are of each report and site."""

from collections.abc import Iterable, Sequence
from typing import Final

from service.assessing.acknowledged import Acknowledged, acknowledged, shown
from service.assessing.exceptions import Count, Inquiry, Report, Row, Wanted
from service.assessing.moment import Question
from service.assessing.stories import past
from service.domain.finding import REPORTS
from service.page import Page, moment_and_name

EVERY: Final = 2**31 - 1
"""More rows than any report has."""


async def page(question: Question, report: Report, wanted: Wanted, after: str | None, limit: int) -> Page:
    """List the rows of a report, newest first. Raises BadCursor."""
    before = None if after is None else moment_and_name(after)
    inquiry = Inquiry(question, wanted, await past(question), await acknowledged(question, report.name))
    rows = await report.rows(inquiry, before, limit + 1)
    more = len(rows) > limit
    return Page(
        items=await _lines(inquiry, report, rows[:limit]),
        next=f"{rows[limit - 1].at.isoformat()} {rows[limit - 1].ref}" if more else None,
        about={"report": report.name, **question.about()},
    )


async def _lines(inquiry: Inquiry, report: Report, rows: Sequence[Row]) -> list[dict[str, object]]:
    known = {row.ref: inquiry.acknowledged.of(report.name, row.ref, row.site) for row in rows}
    told = await shown(inquiry.question, (one for one in known.values() if one is not None))
    grounds = await report.grounds(inquiry.question, rows)
    return [
        {
            "row": row.ref,
            "site": row.site,
            "asset": row.tag,
            "person": row.person,
            "item": row.item,
            "at": row.at,
            "severity": report.severity(row),
            "reason": report.reason(row),
            "reasons": row.words,
            "next": report.advice(row),
            "because": grounds.get(row.ref, []),
            "acknowledged": None if (one := known[row.ref]) is None else told[one.event],
        }
        for row in rows
    ]


async def found(question: Question, report: Report, wanted: Wanted) -> set[str]:
    """Name the rows of a report, whether acknowledged or not."""
    inquiry = Inquiry(question, wanted, await past(question), Acknowledged(()))
    return {str(row.ref) for row in await report.rows(inquiry, None, EVERY)}


async def overview(question: Question, reports: Iterable[Report], wanted: Wanted) -> dict[str, object]:
    """Count the rows of every report by site; `open` are those that nobody has acknowledged."""
    inquiry = Inquiry(question, wanted, await past(question), await acknowledged(question, None))
    return {
        **question.about(),
        "reports": [
            {"report": report.name, "about": REPORTS[report.name], **_summed(await report.count(inquiry))}
            for report in reports
        ],
    }


def _summed(counted: Iterable[Count]) -> dict[str, object]:
    by_site: dict[str | None, Count] = {}
    for one in counted:
        known = by_site.get(one.site, Count(one.site, 0, 0))
        by_site[one.site] = Count(one.site, known.rows + one.rows, known.acknowledged + one.acknowledged)
    sites = [by_site[site] for site in sorted(by_site, key=lambda site: (site is None, site or ""))]
    return {
        "rows": sum(one.rows for one in sites),
        "open": sum(one.rows - one.acknowledged for one in sites),
        "sites": [{"site": one.site, "rows": one.rows, "open": one.rows - one.acknowledged} for one in sites],
    }
