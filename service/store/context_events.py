"""The events that decisions about any unit may rest on: reference data, persons, recalls, and voidings of those."""

from typing import Final
from uuid import UUID

import msgspec
from msgspec.structs import replace
from psycopg import AsyncConnection

from service.domain.conflict import Conflict
from service.domain.recorded import Recorded
from service.store.append import CONTEXT
from service.store.stored import read_stored

CONTEXT_EVENTS: Final = """
SELECT organisation, seq, kind, kind_version, received_at, recorded_at, sent_at, key, imported, body, conflicts
FROM ledger.event
WHERE organisation = %(organisation)s AND seq IN (
    SELECT s.seq FROM ledger.event_subject s
    WHERE s.organisation = %(organisation)s AND s.subject = %(context)s
        AND s.seq > %(after)s AND (%(until_seq)s::bigint IS NULL OR s.seq <= %(until_seq)s))
ORDER BY seq
"""
CONFLICTS: Final = msgspec.json.Decoder(tuple[Conflict, ...])


async def context_events(
    conn: AsyncConnection, organisation: UUID, *, after: int = 0, until_seq: int | None = None
) -> list[Recorded]:
    """Give the context events past `after`, up to and including `until_seq`, in order, with their conflicts."""
    found = await read_stored(
        conn,
        CONTEXT_EVENTS,
        {"organisation": organisation, "context": CONTEXT, "after": after, "until_seq": until_seq},
    )
    return [replace(one.recorded, conflicts=CONFLICTS.decode(one.conflicts)) for one in found]
