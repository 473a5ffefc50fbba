"""All events about the tags of a kin: what it is folded from."""

from datetime import datetime
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

from service.domain.recorded import Recorded
from service.store.stored import read_recorded

EVENTS_OF_KIN: Final = """
SELECT organisation, seq, kind, kind_version, received_at, recorded_at, sent_at, key, imported, body
FROM ledger.event
WHERE organisation = %(organisation)s AND seq IN (
    SELECT s.seq
    FROM ledger.kinship h JOIN ledger.event_subject s
        ON s.organisation = h.organisation AND s.subject = 'asset:' || h.tag
    WHERE h.organisation = %(organisation)s AND h.kin = %(kin)s
        AND s.instant >= coalesce(%(since)s::timestamptz, '-infinity')
        AND (%(until_seq)s::bigint IS NULL OR s.seq <= %(until_seq)s))
ORDER BY seq
"""


async def events_of_kin(
    conn: AsyncConnection,
    organisation: UUID,
    kin: str,
    *,
    since: datetime | None = None,
    until_seq: int | None = None,
) -> list[Recorded]:
    """Give the events in order of seq: those with a place at or after `since`, known by `until_seq`."""
    return await read_recorded(
        conn, EVENTS_OF_KIN, {"organisation": organisation, "kin": kin, "since": since, "until_seq": until_seq}
    )
