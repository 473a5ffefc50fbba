"""How many units stood how at a moment, by site: the summary's numbers, counted in the database.

It reads as `units_at` does, a step of length at a time.
"""

from collections.abc import Iterable
from datetime import datetime
from typing import Final
from uuid import UUID

import msgspec
from psycopg import AsyncConnection
from psycopg.rows import class_row

from service.store.arrays import Texts

COUNTS_AT: Final = """
SELECT i.site, i.phase, i.in_scope, i.standing, i.do_not_use, i.rules, count(*) AS units
FROM generate_series(0, 10) AS n (span)
    CROSS JOIN LATERAL (
        SELECT x.* FROM ledger.standing_interval x
        WHERE x.organisation = %(organisation)s AND x.span = n.span AND x.since <= %(as_at)s
            AND x.since > CASE WHEN n.span = 10 THEN '-infinity'
                ELSE %(as_at)s::timestamptz - make_interval(hours => (4 ^ n.span)::integer) END
            AND x.until > %(as_at)s OFFSET 0) i
WHERE (%(sites)s::text[] IS NULL OR i.site = ANY (%(sites)s))
GROUP BY i.site, i.phase, i.in_scope, i.standing, i.do_not_use, i.rules
ORDER BY i.site, i.phase, i.in_scope, i.standing, i.do_not_use, i.rules
"""


class Count(msgspec.Struct, frozen=True, kw_only=True):
    """So many units of a site that are alike; `rules` is the packed standing by rule."""

    site: str
    phase: str
    in_scope: bool
    standing: str
    do_not_use: bool
    rules: bytes
    units: int


async def counts_at(
    conn: AsyncConnection, organisation: UUID, as_at: datetime, sites: Iterable[str] | None = None
) -> list[Count]:
    """Count the units that had a standing then, by site and everything alike; `sites` None is all."""
    parameters = {"organisation": organisation, "as_at": as_at, "sites": None if sites is None else Texts(sites)}
    async with conn.cursor(row_factory=class_row(Count)) as cursor:
        await cursor.execute(COUNTS_AT, parameters)
        return await cursor.fetchall()
