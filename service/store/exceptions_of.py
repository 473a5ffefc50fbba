"""A page of an exception report, newest first, as far as stored rows say it."""

from collections.abc import Iterable
from datetime import datetime
from typing import Final
from uuid import UUID

import msgspec
from psycopg import AsyncConnection
from psycopg.rows import class_row

from service.store.arrays import Texts, Uuids

EXCEPTIONS_OF: Final = """
SELECT x.ref, x.unit, u.tag, x.at, x.site, x.person, x.worn, x.words
FROM ledger.exception x JOIN ledger.unit u ON u.organisation = x.organisation AND u.unit = x.unit
WHERE x.organisation = %(organisation)s AND x.report = %(report)s
    AND x.at >= coalesce(%(since)s::timestamptz, '-infinity') AND x.at < %(until)s
    AND (x.at, x.ref) < (coalesce(%(before_at)s::timestamptz, 'infinity'), coalesce(%(before_ref)s::uuid, x.ref))
    AND (%(sites)s::text[] IS NULL OR x.site = ANY (%(sites)s))
    AND NOT (x.unit = ANY (%(without)s::uuid[]))
    AND (%(acknowledged)s::boolean IS NULL OR %(acknowledged)s = (
        x.ref::text = ANY (%(everywhere)s::text[]) OR x.ref::text || ' ' || x.site = ANY (%(there)s::text[])))
ORDER BY x.at DESC, x.ref DESC
LIMIT %(limit)s
"""


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
    """Which exceptions: in [since, until), at these sites (None: all), but of these units.

    `acknowledged` None asks nothing. Acknowledged are the rows named `everywhere`, and those named `there` with a site.
    """

    since: datetime | None
    until: datetime
    sites: Iterable[str] | None
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
        "before_ref": None if before is None else before[1],
        "limit": limit,
        **chosen.parameters(),
    }
    async with conn.cursor(row_factory=class_row(ExceptionRow)) as cursor:
        await cursor.execute(EXCEPTIONS_OF, parameters)
        return await cursor.fetchall()
