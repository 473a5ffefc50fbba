"""The standing of units over a period."""

from collections.abc import Iterable
from datetime import datetime
from typing import Final
from uuid import UUID

import msgspec
from psycopg import AsyncConnection
from psycopg.rows import class_row

from service.domain.standing import Standing
from service.domain.unit import Phase
from service.store.arrays import Texts, Uuids

INTERVALS_BETWEEN: Final = """
SELECT i.unit, i.since, nullif(i.until, 'infinity') AS until, i.site, i.model, i.phase, i.in_scope, i.standing,
    i.do_not_use, i.rules
FROM ledger.intervals_between(%(organisation)s, %(since)s, %(until)s) i
WHERE (%(sites)s::text[] IS NULL OR i.site = ANY (%(sites)s))
    AND (%(units)s::uuid[] IS NULL OR i.unit = ANY (%(units)s))
ORDER BY i.unit, i.since
"""


class UnitInterval(msgspec.Struct, frozen=True, kw_only=True):
    """One span of a unit's standing, half-open; `until` None has no end."""

    unit: UUID
    since: datetime
    until: datetime | None
    site: str
    model: str
    phase: Phase
    in_scope: bool
    standing: Standing
    do_not_use: bool
    rules: bytes


async def intervals_between(
    conn: AsyncConnection,
    organisation: UUID,
    since: datetime,
    until: datetime,
    *,
    sites: Iterable[str] | None = None,
    units: Iterable[UUID] | None = None,
) -> list[UnitInterval]:
    """Give the intervals that reach into [since, until), whole, by unit and in order; None is all sites, all units."""
    parameters = {
        "organisation": organisation,
        "since": since,
        "until": until,
        "sites": None if sites is None else Texts(sites),
        "units": None if units is None else Uuids(units),
    }
    async with conn.cursor(row_factory=class_row(UnitInterval)) as cursor:
        await cursor.execute(INTERVALS_BETWEEN, parameters)
        return await cursor.fetchall()
