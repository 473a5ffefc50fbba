"""When units were first had in hand since a moment."""

from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Final, NamedTuple
from uuid import UUID

from psycopg import AsyncConnection
from psycopg.rows import args_row

from service.store.arrays import Instants, Texts

# A quarantine without a place was ordered from a desk. Whether what was taken back happened is not decided here. Before
# the moment only that is looked for of which the index says less than the event does: it may have been since.
SPOKEN_SINCE: Final = """
SELECT first.instant AS at, coalesce(first.doubtful, false) AS doubtful
FROM unnest(%(subjects)s::text[], %(since)s::timestamptz[]) WITH ORDINALITY t (subject, since, place)
    LEFT JOIN LATERAL (
        SELECT s.instant, e.instant IS DISTINCT FROM s.instant OR EXISTS (
                SELECT FROM ledger.event_subject v
                WHERE v.organisation = %(organisation)s AND v.subject = 'event:' || e.id AND v.seq <= %(until_seq)s)
            AS doubtful
        FROM ledger.event_subject s
            JOIN ledger.event e ON e.organisation = s.organisation AND e.seq = s.seq
        WHERE s.organisation = %(organisation)s AND s.subject = t.subject AND s.instant <= %(at)s
            AND s.seq <= %(until_seq)s AND s.instant >= t.since - %(spread)s::interval
            AND (s.instant >= t.since OR e.instant IS DISTINCT FROM s.instant)
            AND e.kind = ANY (%(kinds)s::text[])
            AND (e.kind <> 'quarantined' OR convert_from(e.body, 'UTF8')::jsonb ? 'place')
        ORDER BY s.instant LIMIT 1) first ON true
ORDER BY t.place
"""


class Spoken(NamedTuple):
    """When an event was, by the index; None for none.

    `doubtful` says that only the events themselves can tell: it states its day alone or was received before its stamp,
    or it was taken back, or once was.
    """

    at: datetime | None
    doubtful: bool


NEVER: Final = Spoken(None, doubtful=False)


class Since(NamedTuple):
    """A tag, and the moment from which on it matters that its unit is had in hand."""

    tag: str
    since: datetime


async def spoken_since(
    conn: AsyncConnection,
    organisation: UUID,
    asked: Iterable[Since],
    *,
    kinds: Iterable[str],
    spread: timedelta,
    at: datetime,
    until_seq: int,
) -> list[Spoken]:
    """Give for each, in their order, the first event of the kinds that was recorded by `until_seq` and was by `at`.

    An event may be as much later than the index says as `spread`, and never sooner.
    """
    every = list(asked)
    parameters = {
        "organisation": organisation,
        "subjects": Texts(f"asset:{one.tag}" for one in every),
        "since": Instants(one.since for one in every),
        "kinds": Texts(kinds),
        "spread": spread,
        "at": at,
        "until_seq": until_seq,
    }
    async with conn.cursor(binary=True, row_factory=args_row(Spoken)) as cursor:
        await cursor.execute(SPOKEN_SINCE, parameters)
        return await cursor.fetchall()
