"""How many units stand alike at a moment, without some: by site, model, phase, standing and rules."""

from collections.abc import Iterable
from datetime import datetime
from typing import Final
from uuid import UUID

import msgspec
from psycopg import AsyncConnection
from psycopg.rows import class_row

from service.store.arrays import Texts, Uuids

STANDING_COUNTS: Final = """
SELECT i.site, CASE WHEN %(models)s THEN i.model ELSE '' END AS model, i.phase, i.in_scope, i.standing, i.rules,
    count(*) AS units
FROM ledger.intervals_between(%(organisation)s, %(at)s, %(at)s::timestamptz + interval '1 microsecond') i
WHERE (%(sites)s::text[] IS NULL OR i.site = ANY (%(sites)s)) AND NOT (i.unit = ANY (%(without)s::uuid[]))
GROUP BY 1, 2, 3, 4, 5, 6
"""


class StandingCount(msgspec.Struct, frozen=True):
    """So many units that stand alike; `model` is "" where models are not told apart."""

    site: str
    model: str
    phase: str
    in_scope: bool
    standing: str
    rules: bytes
    units: int


async def standing_counts(
    conn: AsyncConnection,
    organisation: UUID,
    at: datetime,
    *,
    sites: Iterable[str] | None,
    models: bool,
    without: Iterable[UUID],
) -> list[StandingCount]:
    """Count the units at these sites (None: all); `models` are told apart or not."""
    parameters = {
        "organisation": organisation,
        "at": at,
        "sites": None if sites is None else Texts(sites),
        "models": models,
        "without": Uuids(without),
    }
    async with conn.cursor(row_factory=class_row(StandingCount)) as cursor:
        await cursor.execute(STANDING_COUNTS, parameters)
        return await cursor.fetchall()
