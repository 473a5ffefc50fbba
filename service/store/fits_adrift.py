"""The parts that were fitted new nobody said where, each with the sites where its unit was then by the newest fold."""

from collections.abc import Iterable
from datetime import date, datetime
from typing import Final, NamedTuple
from uuid import UUID

from psycopg import AsyncConnection

from service.store.arrays import Texts

# Of a thousand fits the planner would rather read what all events are about; one by one that is found by the index.
# A day is over somewhere from 10 o'clock UTC on (14 hours ahead), and everywhere 12 hours after it (12 behind).
FITS_ADRIFT: Final = """
SELECT s.subject, e.id, e.on_day, home.site, home.since, home.until, home.own
FROM ledger.event_subject s
    JOIN ledger.event e ON e.organisation = s.organisation AND e.seq = s.seq
    CROSS JOIN LATERAL (
        SELECT substr(subject, length('asset:') + 1) AS tag FROM ledger.event_subject
        WHERE organisation = %(organisation)s AND seq = s.seq AND subject LIKE 'asset:%%' OFFSET 0) a
    CROSS JOIN LATERAL (
        SELECT kin, tag FROM ledger.kinship WHERE organisation = %(organisation)s AND tag = a.tag OFFSET 0) h
    CROSS JOIN LATERAL (
        SELECT u.unit, u.tag = h.tag AS own, coalesce(i.site, u.site) AS site, i.since,
            nullif(i.until, 'infinity') AS until
        FROM ledger.unit u
            LEFT JOIN ledger.standing_interval i ON i.organisation = u.organisation AND i.unit = u.unit
                AND i.since <= coalesce(e.instant, (e.on_day + interval '36 hours') AT TIME ZONE 'UTC')
                AND i.until > coalesce(e.instant, (e.on_day + interval '10 hours') AT TIME ZONE 'UTC')
        WHERE u.organisation = s.organisation AND u.kin = h.kin
        OFFSET 0) home
WHERE s.organisation = %(organisation)s AND s.subject = ANY (%(subjects)s::text[])
    AND s.instant >= coalesce(%(since)s::timestamptz, '-infinity') AND s.seq <= %(until_seq)s
ORDER BY s.subject, e.seq, home.unit DESC, home.since
"""


class Adrift(NamedTuple):
    """A fit by the subject that it was found under, and of its unit, or another of the kin, a site where it was.

    It was there in [since, until), without an end where `until` is None; where `since` is None, too, only the site of
    now is known. `own` says that it has the tag now. `day`
    is that of a fit of which no moment was said: then all sites about its end are told.
    """

    subject: str
    event: UUID
    day: date | None
    site: str
    since: datetime | None
    until: datetime | None
    own: bool


async def fits_adrift(
    conn: AsyncConnection, organisation: UUID, subjects: Iterable[str], *, since: datetime | None, until_seq: int
) -> list[Adrift]:
    """Give the events with a place from a moment on, known by `until_seq`, those of one fit after each other."""
    asked = {"organisation": organisation, "subjects": Texts(subjects), "since": since, "until_seq": until_seq}
    rows = await (await conn.execute(FITS_ADRIFT, asked)).fetchall()
    return [Adrift(*row) for row in rows]
