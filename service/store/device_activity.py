"""What devices have done: how much, where, and how they count, from the index of devices alone."""

from collections.abc import Iterable
from datetime import datetime
from typing import Final
from uuid import UUID

import msgspec
from psycopg import AsyncConnection
from psycopg.rows import class_row

from service.store.arrays import Texts

DEVICE_ACTIVITY: Final = """
SELECT d.device, s.events, s.hidden, s.sites, s.last_event_at, first.received_at AS first_contact,
    n.numbered, n.numbers, n.lowest, n.highest, earliest.number AS earliest
FROM unnest(%(devices)s::text[]) WITH ORDINALITY d (device, nth)
CROSS JOIN LATERAL (
    SELECT coalesce(sum(e.events) FILTER (WHERE e.seen), 0)::bigint AS events,
        coalesce(sum(e.events) FILTER (WHERE NOT e.seen), 0)::bigint AS hidden,
        coalesce(array_agg(e.site) FILTER (WHERE e.seen AND e.site IS NOT NULL), '{}') AS sites,
        max(e.instant) FILTER (WHERE e.seen) AS last_event_at, min(e.seq) FILTER (WHERE e.seen) AS first_seq
    FROM (
        SELECT v.site, count(*) AS events, max(v.instant) AS instant, min(v.seq) AS seq,
            coalesce(%(sites)s::text[] IS NULL OR v.site = ANY (%(sites)s::text[]), false) AS seen
        FROM ledger.event v
        WHERE v.organisation = %(organisation)s AND v.device = d.device AND v.seq <= %(until)s
        GROUP BY v.site) e) s
LEFT JOIN ledger.event first ON first.organisation = %(organisation)s AND first.seq = s.first_seq
CROSS JOIN LATERAL (
    SELECT count(v.device_seq) AS numbered, count(DISTINCT v.device_seq) AS numbers,
        min(v.device_seq) AS lowest, max(v.device_seq) AS highest
    FROM ledger.event v
    WHERE v.organisation = %(organisation)s AND v.device = d.device AND v.device_seq IS NOT NULL
        AND v.seq <= %(until)s) n
LEFT JOIN LATERAL (
    SELECT v.device_seq AS number FROM ledger.event v
    WHERE v.organisation = %(organisation)s AND v.device = d.device AND v.seq <= %(until)s
        AND v.device_seq IS NOT NULL AND v.instant IS NOT NULL
    ORDER BY v.instant, v.device_seq
    LIMIT 1) earliest ON true
WHERE s.events > 0 OR s.hidden > 0
ORDER BY d.nth
"""


class Activity(msgspec.Struct, frozen=True, kw_only=True):
    """A device as its events show it; of its events `hidden` are of other sites, and counted among the numbers alone.

    `numbered` events have a number, of which `numbers` are different; `earliest` is that of the earliest moment.
    """

    device: str
    events: int
    hidden: int
    sites: list[str]
    last_event_at: datetime | None
    first_contact: datetime | None
    numbered: int
    numbers: int
    lowest: int | None
    highest: int | None
    earliest: int | None

    @property
    def is_one_run(self) -> bool:
        """Say whether each number came once, and none below the first: nothing can have been reset or repeated."""
        return self.numbered == self.numbers and self.earliest in {None, self.lowest}

    @property
    def lacking(self) -> int:
        """Say how many numbers between the lowest and the highest are missing."""
        if self.lowest is None or self.highest is None:
            return 0
        return self.highest - self.lowest + 1 - self.numbers


async def device_activity(
    conn: AsyncConnection, organisation: UUID, devices: Iterable[str], *, until: int, sites: Iterable[str] | None
) -> list[Activity]:
    """Tell of devices, in their order, by their events up to a seq; those without any are left out."""
    asked = {"organisation": organisation, "devices": Texts(devices), "until": until}
    async with conn.cursor(row_factory=class_row(Activity)) as cursor:
        await cursor.execute(DEVICE_ACTIVITY, asked | {"sites": None if sites is None else Texts(sites)})
        return await cursor.fetchall()
