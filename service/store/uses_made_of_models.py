"""Count the uses that count, as `uses_made` does, by site and by the model that their units are of now."""

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

from service.store.uses_made import SiteUses, uses_made

USES_MADE_OF_MODELS: Final = """
SELECT w.site, u.model, count(*) FILTER (WHERE m.lapse IS NULL OR m.lapse >= w.until) AS covered, count(*) AS made
FROM unnest(%(sites)s::text[], %(sinces)s::timestamptz[], %(untils)s::timestamptz[]) AS w (site, since, until)
    JOIN ledger.use_made m ON m.organisation = %(organisation)s AND m.site = w.site COLLATE "C"
        AND m.counted AND m.at >= w.since AND m.at < w.until AND NOT (m.unit = ANY (%(without)s::uuid[]))
    JOIN ledger.unit u ON u.organisation = m.organisation AND u.unit = m.unit
GROUP BY w.site, u.model
ORDER BY w.site COLLATE "C", u.model COLLATE "C"
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
