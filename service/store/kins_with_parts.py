"""The kins of units in which parts of some lots sat, or parts of no known lot, with their versions."""

from collections.abc import Iterable
from datetime import datetime
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

from service.domain.recall.traces import Stretch
from service.store.arrays import Texts
from service.store.stretches import arrays_of

# No bound is null, and none is computed beside the table but behind OFFSET 0: under row security an index is only
# searched by what gives nothing away. Nobody can foresee how many lie between two labels; in order, and as arrays, they
# are found by the index all the same.
KINS_WITH_PARTS: Final = """
SELECT k.kin, k.version
FROM ledger.unit u
    CROSS JOIN LATERAL (
        SELECT kin, version FROM ledger.kin WHERE organisation = %(organisation)s AND kin = u.kin OFFSET 0) k
WHERE u.organisation = %(organisation)s AND u.unit = ANY (ARRAY (
    SELECT f.unit
    FROM (
        SELECT b.item, p.first, coalesce(p.last, %(furthest)s::text) AS last
        FROM unnest(%(places_of)s::integer[], %(firsts)s::text[], %(lasts)s::text[]) p (number, first, last)
            JOIN unnest(%(beginnings_of)s::integer[], %(beginnings)s::text[]) b (number, item) USING (number)
        OFFSET 0) w
        CROSS JOIN LATERAL (
            SELECT s.unit, s.since FROM ledger.stay s
            WHERE s.organisation = %(organisation)s AND s.item = w.item AND s.lot >= w.first AND s.lot <= w.last
            ORDER BY s.lot OFFSET 0) f
    WHERE f.since <= %(at)s
    UNION
    SELECT f.unit
    FROM unnest(%(items)s::text[]) w (item)
        CROSS JOIN LATERAL (
            SELECT s.unit, s.since FROM ledger.stay s
            WHERE s.organisation = %(organisation)s AND s.item = w.item AND s.lot IS NULL OFFSET 0) f
    WHERE f.since <= %(at)s))
"""
FURTHEST = "\U0010ffff"


async def kins_with_parts(
    conn: AsyncConnection, organisation: UUID, items: Iterable[str], lots: Iterable[Stretch], at: datetime
) -> dict[str, int]:
    """Give the kins in whose units any of the lots sat that had come by then, or a part of an item of no known lot.

    `lots` lie in the order of labels, behind the items that they are of. Each kin comes with the version at which it
    was last written.
    """
    asked = {
        "organisation": organisation,
        "items": Texts(items),
        **arrays_of(lots),
        "furthest": FURTHEST,
        "at": at,
    }
    async with conn.cursor(binary=True) as cursor:
        await cursor.execute(KINS_WITH_PARTS, asked)
        return dict(await cursor.fetchall())
