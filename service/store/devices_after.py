"""The devices that events name, and messages that were refused, in their order, a page at a time."""

from collections.abc import Iterable
from datetime import datetime
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

from service.store.arrays import Texts

# Each step reads the next device off its indexes and passes over all its other events. It counts those that are wanted,
# so that it ends by itself.
DEVICES_AFTER: Final = """
WITH RECURSIVE heard (device, wanted, many) AS (
    SELECT %(after)s::text COLLATE "C", false, 0
    UNION ALL
    SELECT n.device, w.wanted, h.many + w.wanted::int
    FROM heard h
    CROSS JOIN LATERAL (
        SELECT least(
            (SELECT e.device FROM ledger.event e
            WHERE e.organisation = %(organisation)s AND e.device > h.device
            ORDER BY e.device
            LIMIT 1),
            (SELECT r.device FROM ledger.rejected_message r
            WHERE r.organisation = %(organisation)s AND r.device > h.device
            ORDER BY r.device
            LIMIT 1)) AS device
        OFFSET 0) n
    CROSS JOIN LATERAL (
        SELECT EXISTS (
            SELECT FROM ledger.event e
            WHERE e.organisation = %(organisation)s AND e.device = n.device AND e.seq <= %(until)s
                AND (%(sites)s::text[] IS NULL OR e.site = ANY (%(sites)s::text[]))
        ) OR EXISTS (
            SELECT FROM ledger.rejected_message r
            WHERE r.organisation = %(organisation)s AND r.device = n.device AND r.recorded_at <= %(known_at)s
                AND (%(sites)s::text[] IS NULL OR r.site = ANY (%(sites)s::text[]))
        ) AS wanted
        OFFSET 0) w
    WHERE h.many < %(limit)s AND n.device IS NOT NULL
)
SELECT device FROM heard WHERE wanted ORDER BY device
"""


async def devices_after(
    conn: AsyncConnection,
    organisation: UUID,
    *,
    after: str,
    until: int,
    known_at: datetime,
    sites: Iterable[str] | None,
    limit: int,
) -> list[str]:
    """Give at most `limit` devices past `after` with events up to a seq, or refusals kept by a moment.

    They are of these sites where any are named.
    """
    asked = {"organisation": organisation, "after": after, "until": until, "known_at": known_at, "limit": limit}
    cursor = await conn.execute(DEVICES_AFTER, asked | {"sites": None if sites is None else Texts(sites)})
    return [row[0] for row in await cursor.fetchall()]
