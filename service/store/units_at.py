"""The standing of every unit at a moment.

How far back an interval that holds then can have begun depends on its length alone: each step of length is a short
read along its index (see `ledger.span`). OFFSET 0 keeps it so: the planner would rather read the table through.
"""

from collections.abc import Iterable
from datetime import datetime
from typing import Final
from uuid import UUID

import msgspec
from psycopg import AsyncConnection
from psycopg.rows import class_row

from service.store.arrays import Texts

UNITS_AT: Final = """
SELECT i.unit, u.kin, u.tag, i.site, i.model, i.phase, i.in_scope, i.standing, i.do_not_use, i.rules
FROM generate_series(0, 10) AS n (span)
    CROSS JOIN LATERAL (
        SELECT x.* FROM ledger.standing_interval x
        WHERE x.organisation = %(organisation)s AND x.span = n.span AND x.since <= %(as_at)s
            AND x.since > CASE WHEN n.span = 10 THEN '-infinity'
                ELSE %(as_at)s::timestamptz - make_interval(hours => (4 ^ n.span)::integer) END
            AND x.until > %(as_at)s OFFSET 0) i
    JOIN ledger.unit u ON u.organisation = %(organisation)s AND u.unit = i.unit
WHERE (%(sites)s::text[] IS NULL OR i.site = ANY (%(sites)s))
ORDER BY i.unit
"""


class UnitAt(msgspec.Struct, frozen=True, kw_only=True):
    """A unit's standing at the moment, by the newest fold."""

    unit: UUID
    kin: str
    tag: str
    site: str
    model: str
    phase: str
    in_scope: bool
    standing: str
    do_not_use: bool
    rules: bytes


async def units_at(
    conn: AsyncConnection, organisation: UUID, as_at: datetime, sites: Iterable[str] | None = None
) -> list[UnitAt]:
    """Give every unit that had a standing then, in order of unit; `sites` None is all."""
    parameters = {"organisation": organisation, "as_at": as_at, "sites": None if sites is None else Texts(sites)}
    async with conn.cursor(row_factory=class_row(UnitAt)) as cursor:
        await cursor.execute(UNITS_AT, parameters)
        return await cursor.fetchall()
