"""Count the uses that count, as `uses_made` does, by site and by the model that units are of as a period ends."""

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

from service.store.uses_made import SiteUses, uses_made

USES_MADE_OF_MODELS: Final = """
WITH made AS (
    SELECT w.site, w.until, m.unit, count(*) FILTER (WHERE m.lapse IS NULL OR m.lapse >= w.until) AS covered,
        count(*) AS made
    FROM unnest(%(sites)s::text[], %(sinces)s::timestamptz[], %(untils)s::timestamptz[]) AS w (site, since, until)
        JOIN ledger.use_made m ON m.organisation = %(organisation)s AND m.site = w.site COLLATE "C"
            AND m.counted AND m.at >= w.since AND m.at < w.until AND NOT (m.unit = ANY (%(without)s::uuid[]))
    GROUP BY w.site, w.until, m.unit)
SELECT c.site, u.model, sum(c.covered)::bigint AS covered, sum(c.made)::bigint AS made
FROM made c
    CROSS JOIN LATERAL (
        SELECT i.model FROM ledger.standing_interval i
        WHERE i.organisation = %(organisation)s AND i.unit = c.unit AND i.since < c.until
        ORDER BY i.since DESC LIMIT 1) u
GROUP BY c.site, u.model
ORDER BY c.site COLLATE "C", u.model COLLATE "C"
"""


async def uses_made_of_models(
    conn: AsyncConnection,
    organisation: UUID,
    periods: Sequence[tuple[str, datetime, datetime]],
    *,
    without: Iterable[UUID],
) -> list[SiteUses]:
    """Count for each (site, since, until), half-open, and model; what has no uses is left out."""
    return await uses_made(conn, organisation, periods, without=without, query=USES_MADE_OF_MODELS)
