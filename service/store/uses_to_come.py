"""Count the uses that time makes of units, as far as they were told when those were folded, without some units."""

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection
from psycopg.rows import class_row

from service.store.arrays import Instants, Texts, Uuids
from service.store.uses_made import SiteUses

USES_TO_COME: Final = """
SELECT u.site, CASE WHEN %(models)s THEN u.model ELSE '' END AS model,
    count(*) FILTER (WHERE c.nth <= u.next_covered) AS covered, count(*) AS made
FROM unnest(%(sites)s::text[], %(sinces)s::timestamptz[]) AS w (site, since)
    JOIN ledger.unit u ON u.organisation = %(organisation)s AND u.site = w.site COLLATE "C"
        AND u.phase = 'issued' AND u.next_until >= %(until)s AND NOT (u.unit = ANY (%(without)s::uuid[]))
    CROSS JOIN LATERAL unnest(u.next_uses) WITH ORDINALITY AS c (at, nth)
WHERE c.at >= w.since AND c.at < %(until)s
GROUP BY 1, 2
"""


async def uses_to_come(
    conn: AsyncConnection,
    organisation: UUID,
    periods: Sequence[tuple[str, datetime]],
    until: datetime,
    *,
    models: bool,
    without: Iterable[UUID],
) -> list[SiteUses]:
    """Count for each (site, since) up to a moment that the uses are told to; `models` are told apart or not."""
    parameters = {
        "organisation": organisation,
        "sites": Texts(site for site, _ in periods),
        "sinces": Instants(since for _, since in periods),
        "until": until,
        "models": models,
        "without": Uuids(without),
    }
    async with conn.cursor(row_factory=class_row(SiteUses)) as cursor:
        await cursor.execute(USES_TO_COME, parameters)
        return await cursor.fetchall()
