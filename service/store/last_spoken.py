"""When units were last spoken of."""

from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Final, NamedTuple
from uuid import UUID

from psycopg import AsyncConnection
from psycopg.rows import args_row

from service.store.arrays import Texts

# What has the index say less than the event does is looked for as far back as it might be the last all the same.
LAST_SPOKEN: Final = """
SELECT last.instant AS at, coalesce(near.doubtful, false) AS doubtful
FROM unnest(%(subjects)s::text[]) WITH ORDINALITY t (subject, place)
    LEFT JOIN LATERAL (
        SELECT s.instant FROM ledger.event_subject s
        WHERE s.organisation = %(organisation)s AND s.subject = t.subject AND s.instant <= %(at)s
            AND s.seq <= %(until_seq)s
        ORDER BY s.instant DESC LIMIT 1) last ON true
    LEFT JOIN LATERAL (
        SELECT true AS doubtful
        FROM ledger.event_subject s
            JOIN ledger.event e ON e.organisation = s.organisation AND e.seq = s.seq
        WHERE s.organisation = %(organisation)s AND s.subject = t.subject AND s.instant <= %(at)s
            AND s.seq <= %(until_seq)s AND s.instant > last.instant - %(spread)s::interval
            AND (e.instant IS DISTINCT FROM s.instant
                OR (s.instant = last.instant AND (e.kind = 'voided' OR EXISTS (
                    SELECT FROM ledger.event_subject v
                    WHERE v.organisation = %(organisation)s AND v.subject = 'event:' || e.id
                        AND v.seq <= %(until_seq)s))))
        LIMIT 1) near ON true
ORDER BY t.place
"""


class Spoken(NamedTuple):
    """When an event was, by the index; None for none.

    `doubtful` says that only the events themselves can tell: one near it states its day alone or was received before
    its stamp, or it was taken back, or once was.
    """

    at: datetime | None
    doubtful: bool

    def reaches(self, since: datetime) -> bool:
        """Say whether it is known to have been at a moment or later."""
        return self.at is not None and self.at >= since and not self.doubtful


NEVER: Final = Spoken(None, doubtful=False)


async def last_spoken(
    conn: AsyncConnection,
    organisation: UUID,
    tags: Iterable[str],
    *,
    spread: timedelta,
    at: datetime,
    until_seq: int,
) -> list[Spoken]:
    """Give the last event about each tag, in their order, that was recorded by `until_seq` and happened by `at`.

    An event may be as much later than the index says as `spread`, and never sooner.
    """
    parameters = {
        "organisation": organisation,
        "subjects": Texts(f"asset:{tag}" for tag in tags),
        "spread": spread,
        "at": at,
        "until_seq": until_seq,
    }
    async with conn.cursor(binary=True, row_factory=args_row(Spoken)) as cursor:
        await cursor.execute(LAST_SPOKEN, parameters)
        return await cursor.fetchall()
