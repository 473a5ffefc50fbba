"""The parts that were fitted new nobody said where, each with the site where its unit was by the newest fold."""

from collections.abc import Iterable
from datetime import datetime
from typing import Final, NamedTuple
from uuid import UUID

from psycopg import AsyncConnection

from service.store.arrays import Texts

# Of several units of a kin that one counts which was anywhere at that moment, then the one that has the tag now.
FITS_ADRIFT: Final = """
SELECT s.subject, e.id, home.site
FROM ledger.event_subject s
    JOIN ledger.event e ON e.organisation = s.organisation AND e.seq = s.seq
    JOIN ledger.event_subject a ON a.organisation = s.organisation AND a.seq = s.seq AND a.subject LIKE 'asset:%%'
    JOIN ledger.kinship h ON h.organisation = s.organisation AND h.tag = substr(a.subject, length('asset:') + 1)
    CROSS JOIN LATERAL (
        SELECT coalesce(i.site, u.site) AS site
        FROM ledger.unit u
            LEFT JOIN ledger.standing_interval i ON i.organisation = u.organisation AND i.unit = u.unit
                AND i.since <= s.instant AND i.until > s.instant
        WHERE u.organisation = s.organisation AND u.kin = h.kin
        ORDER BY i.site IS NULL, u.tag <> h.tag, u.unit
        LIMIT 1) home
WHERE s.organisation = %(organisation)s AND s.subject = ANY (%(subjects)s::text[])
    AND s.instant >= coalesce(%(since)s::timestamptz, '-infinity') AND s.seq <= %(until_seq)s
"""


class Adrift(NamedTuple):
    """An event, by the subject that it was found under, and the site where its unit was, else where it is now."""

    subject: str
    event: UUID
    site: str


async def fits_adrift(
    conn: AsyncConnection, organisation: UUID, subjects: Iterable[str], *, since: datetime | None, until_seq: int
) -> list[Adrift]:
    """Give the events with a place from a moment on, known by `until_seq`."""
    asked = {"organisation": organisation, "subjects": Texts(subjects), "since": since, "until_seq": until_seq}
    rows = await (await conn.execute(FITS_ADRIFT, asked)).fetchall()
    return [Adrift(*row) for row in rows]
