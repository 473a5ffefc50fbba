"""The events filed under subjects that lie in stretches, by where they happened, with their conflicts."""

from collections.abc import Iterable
from functools import lru_cache
from typing import Final
from uuid import UUID

from msgspec.structs import replace
from psycopg import AsyncConnection

from service.domain.codec import decode_stored
from service.domain.event import Event
from service.domain.recall.traces import Stretch
from service.domain.recorded import Recorded
from service.store.arrays import Texts
from service.store.context_events import CONFLICTS
from service.store.stored import read_stored
from service.store.stretches import arrays_of

# Nobody can foresee how many lie between two subjects; in order, and as an array, they are found by the index.
EVENTS_BETWEEN_SUBJECTS: Final = """
SELECT organisation, seq, kind, kind_version, received_at, recorded_at, sent_at, key, imported, body, conflicts
FROM ledger.event
WHERE organisation = %(organisation)s AND seq = ANY (ARRAY (
    SELECT f.seq
    FROM ledger.stretches(
            %(places_of)s::integer[], %(firsts)s::text[], %(lasts)s::text[], %(beginnings_of)s::integer[],
            %(beginnings)s::text[]) w
        CROSS JOIN LATERAL (
            SELECT s.seq FROM ledger.event_subject s
            WHERE s.organisation = %(organisation)s AND s.subject > w.after AND s.subject < w.ending
            ORDER BY s.subject OFFSET 0) f
    WHERE f.seq <= %(until_seq)s))
    AND (%(sites)s::text[] IS NULL OR site = ANY (%(sites)s::text[]))
ORDER BY seq
"""


SHORT: Final = 512
"""Bytes of a body that may be kept decoded: those of stock have half of that, a registration may have a hundred parts.

So what is kept is bounded by its weight, too.
"""

kept: Final = lru_cache(maxsize=4096)(decode_stored)
"""What tells of the stock of an item is asked for again and again, and never changes: some 6 MB are kept decoded."""


def decode_again(body: bytes, kind: str, version: int) -> Event:
    """Decode a stored body; a short one only once."""
    return kept(body, kind, version) if len(body) <= SHORT else decode_stored(body, kind, version)


async def events_between_subjects(
    conn: AsyncConnection,
    organisation: UUID,
    stretches: Iterable[Stretch],
    *,
    until_seq: int,
    sites: Iterable[str] | None = None,
) -> list[Recorded]:
    """Give the events in order of seq, known by `until_seq`, at some sites (None: at any or none)."""
    found = await read_stored(
        conn,
        EVENTS_BETWEEN_SUBJECTS,
        {
            "organisation": organisation,
            **arrays_of(stretches),
            "sites": None if sites is None else Texts(sites),
            "until_seq": until_seq,
        },
        decode_again,
    )
    return [replace(one.recorded, conflicts=CONFLICTS.decode(one.conflicts)) for one in found]
