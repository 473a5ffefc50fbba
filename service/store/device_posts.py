"""How the newest events of devices came: from where, how late, and by which clock.

What was imported says nothing of it: the records of the past came when somebody brought them, and by another clock.
"""

from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Final
from uuid import UUID

import msgspec
from psycopg import AsyncConnection
from psycopg.rows import class_row

from service.store.arrays import Texts

# A message has one receipt; of events in it that state the clock each for itself, the last to be stamped says it best.
# OFFSET 0 has a device's events read off its index, and the newest of them looked up one by one: joined as the planner
# likes, the whole log was read.
DEVICE_POSTS: Final = """
WITH newest AS MATERIALIZED (
    SELECT d.device, e.seq, e.site, e.instant, e.received_at, e.sent_at, e.imported
    FROM unnest(%(devices)s::text[]) d (device)
    CROSS JOIN LATERAL (
        SELECT o.seq FROM (
            SELECT v.seq FROM ledger.event v
            WHERE v.organisation = %(organisation)s AND v.device = d.device AND v.seq <= %(until)s
                AND (%(sites)s::text[] IS NULL OR v.site = ANY (%(sites)s::text[]))
            OFFSET 0) o
        ORDER BY o.seq DESC
        LIMIT %(newest)s) n
    CROSS JOIN LATERAL (
        SELECT v.* FROM ledger.event v WHERE v.organisation = %(organisation)s AND v.seq = n.seq
        OFFSET 0) e
), message AS (
    SELECT n.device, n.received_at, max(n.sent_at) AS sent_at,
        row_number() OVER (PARTITION BY n.device ORDER BY n.received_at DESC) AS nth
    FROM newest n
    WHERE n.sent_at IS NOT NULL AND NOT n.imported
    GROUP BY n.device, n.received_at
), clock AS (
    SELECT m.device, array_agg(m.received_at ORDER BY m.nth) AS received, array_agg(m.sent_at ORDER BY m.nth) AS sent
    FROM message m
    WHERE m.nth <= %(samples)s
    GROUP BY m.device
)
SELECT n.device, max(n.received_at) AS last_contact, (array_agg(n.site ORDER BY n.seq DESC))[1] AS site,
    coalesce(c.received, '{}') AS received, coalesce(c.sent, '{}') AS sent,
    percentile_disc(ARRAY [0.5, 0.95, 1]) WITHIN GROUP (ORDER BY n.received_at - n.instant)
        FILTER (WHERE n.instant IS NOT NULL AND NOT n.imported) AS lateness
FROM newest n
LEFT JOIN clock c ON c.device = n.device
GROUP BY n.device, c.received, c.sent
"""


class Posts(msgspec.Struct, frozen=True, kw_only=True):
    """How the newest events of a device came.

    `site` is that of the newest; `received` and `sent` are the newest receipts that state a clock, and what it said;
    `lateness` is receipt minus own time, the median, the 95th percentile and the most, None where nothing tells it.
    """

    device: str
    last_contact: datetime
    site: str | None
    received: list[datetime]
    sent: list[datetime]
    lateness: list[timedelta] | None


async def device_posts(
    conn: AsyncConnection,
    organisation: UUID,
    devices: Iterable[str],
    *,
    until: int,
    sites: Iterable[str] | None,
    newest: int,
    samples: int,
) -> dict[str, Posts]:
    """Tell by the `newest` events of each device up to a seq, of these sites where any are named."""
    asked = {"organisation": organisation, "devices": Texts(devices), "until": until, "newest": newest}
    narrowed = {"sites": None if sites is None else Texts(sites), "samples": samples}
    async with conn.cursor(row_factory=class_row(Posts)) as cursor:
        await cursor.execute(DEVICE_POSTS, asked | narrowed)
        return {row.device: row for row in await cursor.fetchall()}
