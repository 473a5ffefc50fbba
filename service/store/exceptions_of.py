"""A page of an exception report, newest first, as far as stored rows say it."""

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Final, LiteralString
from uuid import UUID

import msgspec
from psycopg import AsyncConnection
from psycopg.rows import class_row

from service.store.arrays import Texts, Uuids

LAST: Final = UUID(int=2**128 - 1)
NEWEST: Final = """
    JOIN ledger.unit u ON u.organisation = x.organisation AND u.unit = x.unit
WHERE x.organisation = %(organisation)s
    AND x.at >= coalesce(%(since)s::timestamptz, '-infinity') AND x.at < %(until)s
    AND (x.at, x.ref) < (coalesce(%(before_at)s::timestamptz, 'infinity'), %(before_ref)s::uuid)
    AND (%(sites)s::text[] IS NULL OR x.site = ANY (%(sites)s))
    AND (%(named)s::uuid[] IS NULL OR x.ref = ANY (%(named)s))
    AND NOT (x.unit = ANY (%(without)s::uuid[]))
    AND (%(acknowledged)s::boolean IS NULL OR %(acknowledged)s = (
        x.ref::text = ANY (%(everywhere)s::text[]) OR x.ref::text || ' ' || x.site = ANY (%(there)s::text[])))
ORDER BY x.at DESC, x.ref DESC
LIMIT %(limit)s
"""
USES_WITHOUT_CHECK: Final = (
    """
SELECT x.ref, x.unit, u.tag, x.at, x.site, x.person, x.worn, x.words
FROM (SELECT m.organisation, m.ref, m.unit, m.lapse AS at, m.site, m.person, m.worn, 'used-without-check' AS words
    FROM ledger.use_made m WHERE m.lapse IS NOT NULL) x"""  # noqa: S608 - two constant texts
    + NEWEST
)
USES_FORBIDDEN: Final = (
    """
SELECT x.ref, x.unit, u.tag, x.at, x.site, x.person, x.worn, x.words
FROM (SELECT m.organisation, m.ref, m.unit, m.at, m.site, m.person, m.worn, m.forbidden AS words
    FROM ledger.use_made m WHERE m.forbidden IS NOT NULL) x"""  # noqa: S608 - two constant texts
    + NEWEST
)
FINDINGS: Final = (
    """
SELECT x.ref, x.unit, u.tag, x.at, x.site, x.person, x.worn, x.words
FROM (SELECT f.organisation, f.event AS ref, f.unit, f.at, f.site, f.person, true AS worn, f.reasons AS words
    FROM ledger.finding f WHERE f.report = %(report)s) x"""  # noqa: S608 - two constant texts
    + NEWEST
)
QUERIES: Final[Mapping[str, LiteralString]] = {
    "used-without-check": USES_WITHOUT_CHECK,
    "used-while-not-to-be-used": USES_FORBIDDEN,
}
"""The reports of uses; the others are of findings. Each has an index in the report's order, which the view hides."""


class ExceptionRow(msgspec.Struct, frozen=True, kw_only=True):
    """One exception: its name for good, its unit, when and where it was and whose, and why, in words with commas."""

    ref: UUID
    unit: UUID
    tag: str
    at: datetime
    site: str
    person: str | None
    worn: bool
    words: str


class Chosen(msgspec.Struct, frozen=True, kw_only=True):
    """Which exceptions: in [since, until), at these sites and of these names (None: all), but of these units.

    `acknowledged` None asks nothing. Acknowledged are the rows named `everywhere`, and those named `there` with a site.
    """

    since: datetime | None
    until: datetime
    sites: Iterable[str] | None
    named: Iterable[UUID] | None
    without: Iterable[UUID]
    acknowledged: bool | None
    everywhere: Iterable[str]
    there: Iterable[str]

    def parameters(self) -> dict[str, object]:
        """Give what is asked as a query takes it."""
        return {
            "since": self.since,
            "until": self.until,
            "sites": None if self.sites is None else Texts(self.sites),
            "named": None if self.named is None else Uuids(self.named),
            "without": Uuids(self.without),
            "acknowledged": self.acknowledged,
            "everywhere": Texts(self.everywhere),
            "there": Texts(self.there),
        }


async def exceptions_of(
    conn: AsyncConnection,
    organisation: UUID,
    report: str,
    chosen: Chosen,
    *,
    before: tuple[datetime, UUID] | None,
    limit: int,
) -> list[ExceptionRow]:
    """Give the exceptions that follow `before` in the report's order."""
    parameters = {
        "organisation": organisation,
        "report": report,
        "before_at": None if before is None else before[0],
        "before_ref": LAST if before is None else before[1],
        "limit": limit,
        **chosen.parameters(),
    }
    async with conn.cursor(row_factory=class_row(ExceptionRow)) as cursor:
        await cursor.execute(QUERIES.get(report, FINDINGS), parameters)
        return await cursor.fetchall()
