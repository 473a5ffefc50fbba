"""The events filed under subjects ("asset:FX-0142", "person:p-3071", "device:kiosk-3", ...)."""

from collections.abc import Iterable
from datetime import datetime
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

from service.domain.recorded import Recorded
from service.store.arrays import Texts
from service.store.stored import read_recorded

EVENTS_OF_SUBJECTS: Final = """
SELECT organisation, seq, kind, kind_version, received_at, recorded_at, sent_at, key, imported, body
FROM ledger.event
WHERE organisation = %(organisation)s AND seq IN (
    SELECT s.seq FROM ledger.event_subject s
    WHERE s.organisation = %(organisation)s AND s.subject = ANY (%(subjects)s::text[])
        AND s.instant >= coalesce(%(since)s::timestamptz, '-infinity')
        AND s.instant <= coalesce(%(until)s::timestamptz, 'infinity')
        AND (%(until_seq)s::bigint IS NULL OR s.seq <= %(until_seq)s)
    UNION
    SELECT s.seq FROM ledger.event_subject s
    WHERE s.organisation = %(organisation)s AND s.subject = ANY (%(whole)s::text[]))
ORDER BY seq
"""


async def events_of_subjects(
    conn: AsyncConnection,
    organisation: UUID,
    subjects: Iterable[str],
    *,
    since: datetime | None = None,
    until: datetime | None = None,
    whole: Iterable[str] = (),
    until_seq: int | None = None,
) -> list[Recorded]:
    """Give the events in order of seq: those with a place in [since, until], known by `until_seq`.

    Of the subjects `whole` all are given besides, wherever their place is.
    """
    return await read_recorded(
        conn,
        EVENTS_OF_SUBJECTS,
        {
            "organisation": organisation,
            "subjects": Texts(subjects),
            "since": since,
            "until": until,
            "whole": Texts(whole),
            "until_seq": until_seq,
        },
    )
