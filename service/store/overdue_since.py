"""The units that a rule calls overdue at a moment, each with the moment since which it has done so without a break.

What a rule says is a digit at its place in `rules` (see `standing_interval`). How far back an interval that holds at a
moment can have begun depends on its length alone, as in `intervals_between`.
"""

from collections.abc import Iterable
from datetime import datetime
from typing import Final
from uuid import UUID

import msgspec
from psycopg import AsyncConnection
from psycopg.rows import class_row

from service.store.arrays import Texts, Uuids

OVERDUE_SINCE: Final = """
SELECT i.unit, u.tag, i.site, coalesce(
    (SELECT x.until FROM ledger.standing_interval x
        WHERE x.organisation = %(organisation)s AND x.unit = i.unit AND x.since < i.since
            AND substr(x.rules, %(place)s, 1) <> %(digit)s ORDER BY x.since DESC LIMIT 1),
    (SELECT min(x.since) FROM ledger.standing_interval x
        WHERE x.organisation = %(organisation)s AND x.unit = i.unit)) AS since
FROM generate_series(0, 10) AS n (span)
    CROSS JOIN LATERAL (
        SELECT x.* FROM ledger.standing_interval x
        WHERE x.organisation = %(organisation)s AND x.span = n.span AND x.since <= %(at)s
            AND x.since > CASE WHEN n.span = 10 THEN '-infinity'
                ELSE %(at)s::timestamptz - make_interval(hours => (4 ^ n.span)::integer) END
            AND x.until > %(at)s OFFSET 0) i
    JOIN ledger.unit u ON u.organisation = %(organisation)s AND u.unit = i.unit
WHERE substr(i.rules, %(place)s, 1) = %(digit)s
    AND (%(sites)s::text[] IS NULL OR i.site = ANY (%(sites)s))
    AND NOT (i.unit = ANY (%(without)s::uuid[]))
ORDER BY i.unit
"""


class Overdue(msgspec.Struct, frozen=True):
    """A unit, where it is, and since when the rule has called it overdue."""

    unit: UUID
    tag: str
    site: str
    since: datetime


async def overdue_since(
    conn: AsyncConnection,
    organisation: UUID,
    at: datetime,
    *,
    place: int,
    digit: str,
    sites: Iterable[str] | None,
    without: Iterable[UUID],
) -> list[Overdue]:
    """Give the units; `place` is that of the rule among all, from nought."""
    parameters = {
        "organisation": organisation,
        "at": at,
        "place": place + 1,
        "digit": digit.encode(),
        "sites": None if sites is None else Texts(sites),
        "without": Uuids(without),
    }
    async with conn.cursor(row_factory=class_row(Overdue)) as cursor:
        await cursor.execute(OVERDUE_SINCE, parameters)
        return await cursor.fetchall()
