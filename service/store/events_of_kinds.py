"""The events of some kinds filed under subjects: what settles one question of many units, without the rest of them."""

from collections.abc import Iterable
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

from service.domain.recorded import Recorded
from service.store.arrays import Texts
from service.store.stored import read_recorded

EVENTS_OF_KINDS: Final = """
SELECT organisation, seq, kind, kind_version, received_at, recorded_at, sent_at, key, imported, body
FROM ledger.event
WHERE organisation = %(organisation)s AND kind = ANY (%(kinds)s::text[]) AND seq IN (
    SELECT s.seq FROM ledger.event_subject s
    WHERE s.organisation = %(organisation)s AND s.subject = ANY (%(subjects)s::text[]) AND s.seq <= %(until_seq)s)
ORDER BY seq
"""


async def events_of_kinds(
    conn: AsyncConnection, organisation: UUID, subjects: Iterable[str], *, kinds: Iterable[str], until_seq: int
) -> list[Recorded]:
    """Give the events in order of seq, known by `until_seq`."""
    return await read_recorded(
        conn,
        EVENTS_OF_KINDS,
        {"organisation": organisation, "subjects": Texts(subjects), "kinds": Texts(kinds), "until_seq": until_seq},
    )
