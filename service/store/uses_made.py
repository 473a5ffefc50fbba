"""Count the uses that count, and those of them covered, by site over a period of each one's own, without some units."""

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Final, LiteralString
from uuid import UUID

import msgspec
from psycopg import AsyncConnection
from psycopg.rows import class_row

from service.store.arrays import Instants, Texts, Uuids

USES_MADE: Final = """
SELECT w.site, '' AS model, count(m.at) FILTER (WHERE m.lapse IS NULL OR m.lapse >= w.until) AS covered,
    count(m.at) AS made
FROM unnest(%(sites)s::text[], %(sinces)s::timestamptz[], %(untils)s::timestamptz[]) AS w (site, since, until)
    LEFT JOIN ledger.use_made m ON m.organisation = %(organisation)s AND m.site = w.site COLLATE "C"
        AND m.counted AND m.at >= w.since AND m.at < w.until AND NOT (m.unit = ANY (%(without)s::uuid[]))
GROUP BY w.site
ORDER BY w.site COLLATE "C"
"""


class SiteUses(msgspec.Struct, frozen=True):
    """Uses made at a site, of one model or all (""), and how many of them were covered throughout the period."""

    site: str
    model: str
    covered: int
    made: int


async def uses_made(
    conn: AsyncConnection,
    organisation: UUID,
    periods: Sequence[tuple[str, datetime, datetime]],
    *,
    without: Iterable[UUID],
    query: LiteralString = USES_MADE,
) -> list[SiteUses]:
    """Count for each (site, since, until), half-open; a site without uses has zeros. `query` may tell models apart."""
    parameters = {
        "organisation": organisation,
        "sites": Texts(site for site, _, _ in periods),
        "sinces": Instants(since for _, since, _ in periods),
        "untils": Instants(until for _, _, until in periods),
        "without": Uuids(without),
    }
    async with conn.cursor(row_factory=class_row(SiteUses)) as cursor:
        await cursor.execute(query, parameters)
        return await cursor.fetchall()
