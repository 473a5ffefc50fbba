"""When units were last spoken of, and first had in hand since a moment."""

from collections.abc import Iterable
from datetime import datetime
from typing import Final, NamedTuple
from uuid import UUID

from psycopg import AsyncConnection
from psycopg.rows import args_row

from service.store.arrays import Instants, Texts

# A quarantine without a place was ordered from a desk. Whether what was taken back happened is not decided here.
SPOKEN_SINCE: Final = """
SELECT last.instant AS last, first.instant AS first, coalesce(first.taken_back, false) AS taken_back
FROM unnest(%(subjects)s::text[], %(since)s::timestamptz[]) WITH ORDINALITY t (subject, since, place)
    LEFT JOIN LATERAL (
        SELECT s.instant FROM ledger.event_subject s
        WHERE s.organisation = %(organisation)s AND s.subject = t.subject AND s.instant <= %(at)s
            AND s.seq <= %(until_seq)s
        ORDER BY s.instant DESC LIMIT 1) last ON true
    LEFT JOIN LATERAL (
        SELECT s.instant, EXISTS (
                SELECT FROM ledger.event_subject v
                WHERE v.organisation = %(organisation)s AND v.subject = 'event:' || e.id AND v.seq <= %(until_seq)s)
            AS taken_back
        FROM ledger.event_subject s
            JOIN ledger.event e ON e.organisation = s.organisation AND e.seq = s.seq
        WHERE s.organisation = %(organisation)s AND s.subject = t.subject AND s.instant <= %(at)s
            AND s.seq <= %(until_seq)s AND s.instant >= t.since AND e.kind = ANY (%(kinds)s::text[])
            AND (e.kind <> 'quarantined' OR convert_from(e.body, 'UTF8')::jsonb ? 'place')
        ORDER BY s.instant LIMIT 1) first ON true
ORDER BY t.place
"""


class Since(NamedTuple):
    """A tag, and the moment from which on it matters that its unit is had in hand; None for never."""

    tag: str
    since: datetime | None


class Spoken(NamedTuple):
    """The last event about a tag, and the first of the kinds asked for, at or after the moment.

    `taken_back` says that some event takes that one back, or once did.
    """

    last: datetime | None
    first: datetime | None
    taken_back: bool


async def spoken_since(
    conn: AsyncConnection,
    organisation: UUID,
    asked: Iterable[Since],
    *,
    kinds: Iterable[str],
    at: datetime,
    until_seq: int,
) -> list[Spoken]:
    """Give for each tag, in their order, what was recorded of it by `until_seq` and happened by `at`."""
    every = list(asked)
    parameters = {
        "organisation": organisation,
        "subjects": Texts(f"asset:{one.tag}" for one in every),
        "since": Instants(one.since for one in every),
        "kinds": Texts(kinds),
        "at": at,
        "until_seq": until_seq,
    }
    async with conn.cursor(binary=True, row_factory=args_row(Spoken)) as cursor:
        await cursor.execute(SPOKEN_SINCE, parameters)
        return await cursor.fetchall()
