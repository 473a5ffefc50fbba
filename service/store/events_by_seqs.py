"""Find events by their numbers: what an answer says it rests on."""

from collections.abc import Iterable
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

from service.store.arrays import Bigints
from service.store.stored import Stored, read_stored

EVENTS_BY_SEQS: Final = """
SELECT organisation, seq, kind, kind_version, received_at, recorded_at, sent_at, key, imported, body, conflicts
FROM ledger.event
WHERE organisation = %(organisation)s AND seq = ANY (%(seqs)s::bigint[])
ORDER BY seq
"""


async def events_by_seqs(conn: AsyncConnection, organisation: UUID, seqs: Iterable[int]) -> list[Stored]:
    """Give the events that exist, in order."""
    return await read_stored(conn, EVENTS_BY_SEQS, {"organisation": organisation, "seqs": Bigints(seqs)})
