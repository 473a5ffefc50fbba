"""Count exceptions by report and site, as far as stored rows say them, and those of them that are acknowledged."""

from typing import Final
from uuid import UUID

import msgspec
from psycopg import AsyncConnection
from psycopg.rows import class_row

from service.store.exceptions_of import Chosen

COUNT_EXCEPTIONS: Final = """
SELECT x.report, x.site, count(*) AS rows, count(*) FILTER (WHERE
    x.report || '/' || x.ref = ANY (%(everywhere)s::text[])
    OR x.report || '/' || x.ref || ' ' || x.site = ANY (%(there)s::text[])) AS acknowledged
FROM ledger.exception x
WHERE x.organisation = %(organisation)s
    AND x.at >= coalesce(%(since)s::timestamptz, '-infinity') AND x.at < %(until)s
    AND (%(sites)s::text[] IS NULL OR x.site = ANY (%(sites)s))
    AND NOT (x.unit = ANY (%(without)s::uuid[]))
GROUP BY x.report, x.site
ORDER BY x.report, x.site
"""


class Counted(msgspec.Struct, frozen=True, kw_only=True):
    """How many exceptions a report lists of a site, and how many of them are acknowledged."""

    report: str
    site: str
    rows: int
    acknowledged: int


async def count_exceptions(conn: AsyncConnection, organisation: UUID, chosen: Chosen) -> list[Counted]:
    """Count what is chosen; acknowledgements are named with their report: "report/row"."""
    async with conn.cursor(row_factory=class_row(Counted)) as cursor:
        await cursor.execute(COUNT_EXCEPTIONS, {"organisation": organisation, **chosen.parameters()})
        return await cursor.fetchall()
