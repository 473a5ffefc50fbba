"""What of the messages of devices was refused: how much, where, when, by which clock, and under which numbers."""

from collections.abc import Iterable
from datetime import datetime
from typing import Final
from uuid import UUID

import msgspec
from psycopg import AsyncConnection
from psycopg.rows import class_row

from service.store.arrays import Texts

# Moments are those of first receipt, which do not change: so whatever is asked again is told again.
DEVICE_REFUSALS: Final = """
SELECT d.device, s.refused, s.hidden, s.sites, s.first_contact, s.last_contact, s.site, s.numbers,
    coalesce(c.received, '{}') AS received, coalesce(c.sent, '{}') AS sent
FROM unnest(%(devices)s::text[]) WITH ORDINALITY d (device, nth)
CROSS JOIN LATERAL (
    SELECT count(*) FILTER (WHERE r.seen AND NOT r.recorded) AS refused, count(*) FILTER (WHERE NOT r.seen) AS hidden,
        coalesce(array_agg(DISTINCT r.site) FILTER (WHERE r.seen AND r.site IS NOT NULL), '{}') AS sites,
        min(r.received_at) FILTER (WHERE r.seen) AS first_contact,
        max(r.received_at) FILTER (WHERE r.seen) AS last_contact,
        (array_agg(r.site ORDER BY r.received_at DESC) FILTER (WHERE r.seen AND r.site IS NOT NULL))[1] AS site,
        coalesce(array_agg(DISTINCT r.number) FILTER (WHERE r.seen AND r.number IS NOT NULL), '{}') AS numbers
    FROM (
        SELECT m.site, m.received_at, coalesce(m.accepted_seq <= %(until)s, false) AS recorded,
            coalesce(%(sites)s::text[] IS NULL OR m.site = ANY (%(sites)s::text[]), false) AS seen,
            CASE WHEN NOT EXISTS (
                SELECT FROM ledger.event e
                WHERE e.organisation = m.organisation AND e.device = m.device AND e.device_seq = m.device_seq
                    AND e.seq <= %(until)s) THEN m.device_seq END AS number
        FROM ledger.rejected_message m
        WHERE m.organisation = %(organisation)s AND m.device = d.device AND m.recorded_at <= %(known_at)s) r) s
LEFT JOIN LATERAL (
    SELECT array_agg(n.received_at ORDER BY n.received_at DESC) AS received,
        array_agg(n.sent_at ORDER BY n.received_at DESC) AS sent
    FROM (
        SELECT m.received_at, max(m.sent_at) AS sent_at
        FROM ledger.rejected_message m
        WHERE m.organisation = %(organisation)s AND m.device = d.device AND m.recorded_at <= %(known_at)s
            AND m.sent_at IS NOT NULL AND NOT m.imported
            AND (%(sites)s::text[] IS NULL OR m.site = ANY (%(sites)s::text[]))
        GROUP BY m.received_at
        ORDER BY m.received_at DESC
        LIMIT %(samples)s) n) c ON true
WHERE s.refused > 0 OR s.hidden > 0 OR s.first_contact IS NOT NULL
"""


class Refusals(msgspec.Struct, frozen=True, kw_only=True):
    """What was refused of a device; `hidden` are messages of other sites, or of none that could be read.

    `refused` messages are not recorded since, `numbers` no event has. Contacts count those recorded since, too, and so
    do `received` and `sent`: the newest receipts that state a clock, with what it said.
    """

    device: str
    refused: int
    hidden: int
    sites: list[str]
    first_contact: datetime | None
    last_contact: datetime | None
    site: str | None
    numbers: list[int]
    received: list[datetime]
    sent: list[datetime]


async def device_refusals(
    conn: AsyncConnection,
    organisation: UUID,
    devices: Iterable[str],
    *,
    until: int,
    known_at: datetime,
    sites: Iterable[str] | None,
    samples: int,
) -> dict[str, Refusals]:
    """Tell of the devices of which anything was kept as refused by a moment, whose last event then was `until`."""
    asked = {"organisation": organisation, "devices": Texts(devices), "until": until, "known_at": known_at}
    narrowed = {"sites": None if sites is None else Texts(sites), "samples": samples}
    async with conn.cursor(row_factory=class_row(Refusals)) as cursor:
        await cursor.execute(DEVICE_REFUSALS, asked | narrowed)
        return {row.device: row for row in await cursor.fetchall()}
