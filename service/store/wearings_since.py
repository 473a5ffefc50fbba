"""Who wore units, as far as that may have lasted past a moment of each."""

from collections.abc import Iterable
from datetime import datetime
from typing import Final, NamedTuple
from uuid import UUID

from psycopg import AsyncConnection
from psycopg.rows import tuple_row

from service.domain.wearing import KnownBy
from service.store.arrays import Instants, Texts, Uuids

# What was put on last before the moment ended what was worn earlier, on whatever time of the same day, unless that was
# said to last: those that were said to last for more than two days stand in an index of their own (`use_made_long`).
WEARINGS_SINCE: Final = """
SELECT u.nth::int - 1, w.at, w.site, w.ref, w.person, w.ends, w.known_by, w.day
FROM unnest(%(units)s::uuid[], %(since)s::timestamptz[]) WITH ORDINALITY u (unit, since, nth)
    CROSS JOIN LATERAL (
        SELECT coalesce((
            SELECT at FROM ledger.use_made
            WHERE organisation = %(organisation)s AND unit = u.unit AND at < u.since AND worn
                AND person IS NOT NULL AND known_by = ANY (%(put_on)s::text[])
            ORDER BY at DESC LIMIT 1), '-infinity') AS at OFFSET 0) last
    CROSS JOIN LATERAL (
        SELECT at, site, ref, person, ends, known_by, day FROM ledger.use_made
        WHERE organisation = %(organisation)s AND unit = u.unit AND at >= last.at AND worn
        UNION ALL
        SELECT at, site, ref, person, ends, known_by, day FROM ledger.use_made
        WHERE organisation = %(organisation)s AND unit = u.unit AND at < last.at AND ends >= u.since AND worn
            AND ends - at > interval '48 hours'
        ORDER BY at, ref) w
"""


class Since(NamedTuple):
    """A unit, and two days before the moment from which on it matters who had or wore it.

    So long a day alone may be off.
    """

    unit: UUID
    since: datetime


WearingOfUnit = tuple[int, datetime, str, UUID, str | None, datetime | None, KnownBy, datetime | None]
"""One wearing of the nth unit asked for: when, at which site, by its event, its person, and the kind of the event.

Between those two when it ended, where that was said; last the other end of its day, where it states that alone. There
are many: a plain tuple.
"""


async def wearings_since(
    conn: AsyncConnection, organisation: UUID, asked: Iterable[Since], put_on: Iterable[KnownBy]
) -> list[WearingOfUnit]:
    """Give the wearings since the last that is known by such kinds before the moment, and all that may last past it.

    Those of a unit are in order.
    """
    every = list(asked)
    parameters = {
        "organisation": organisation,
        "units": Uuids(one.unit for one in every),
        "since": Instants(one.since for one in every),
        "put_on": Texts(put_on),
    }
    async with conn.cursor(binary=True, row_factory=tuple_row) as cursor:
        await cursor.execute(WEARINGS_SINCE, parameters)
        return await cursor.fetchall()
