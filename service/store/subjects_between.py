"""The subjects that events are filed under and that lie in stretches."""

from collections.abc import AsyncGenerator, Iterable
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

from service.domain.recall.traces import Stretch
from service.store.stretches import arrays_of

# Nobody can foresee how many lie between two subjects; in order they are found by the index.
SUBJECTS_BETWEEN: Final = """
SELECT DISTINCT f.subject
FROM ledger.stretches(
        %(places_of)s::integer[], %(firsts)s::text[], %(lasts)s::text[], %(beginnings_of)s::integer[],
        %(beginnings)s::text[]) w
    CROSS JOIN LATERAL (
        SELECT s.subject FROM ledger.event_subject s
        WHERE s.organisation = %(organisation)s AND s.subject > w.after AND s.subject < w.ending
        ORDER BY s.subject OFFSET 0) f
"""
PAGE = 10_000


async def subjects_between(
    conn: AsyncConnection, organisation: UUID, stretches: Iterable[Stretch]
) -> AsyncGenerator[list[str], None]:
    """Give the subjects that lie in any of the stretches, a page at a time."""
    asked = {"organisation": organisation, **arrays_of(stretches)}
    async with conn.cursor(name="subjects_between") as cursor:
        await cursor.execute(SUBJECTS_BETWEEN, asked)
        while page := await cursor.fetchmany(PAGE):
            yield [subject for (subject,) in page]
