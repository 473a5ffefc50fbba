"""The subjects that events are filed under and that lie in stretches."""

from collections.abc import AsyncIterator, Iterable
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

from service.domain.recall.traces import Stretch
from service.store.stretches import arrays_of

# Nobody can foresee how many lie between two subjects; in order they are found by the index. A colon ends a beginning,
# and the semicolon is the next character; a tab ends a place, and the new line is the next.
SUBJECTS_BETWEEN: Final = """
SELECT DISTINCT f.subject
FROM (
    SELECT b.beginning || p.first AS after,
        CASE WHEN p.last IS NULL THEN left(b.beginning, -1) || ';' ELSE b.beginning || p.last || E'\n' END AS ending
    FROM unnest(%(places_of)s::integer[], %(firsts)s::text[], %(lasts)s::text[]) p (number, first, last)
        JOIN unnest(%(beginnings_of)s::integer[], %(beginnings)s::text[]) b (number, beginning) USING (number)
    OFFSET 0) w
    CROSS JOIN LATERAL (
        SELECT s.subject, s.seq FROM ledger.event_subject s
        WHERE s.organisation = %(organisation)s AND s.subject > w.after AND s.subject < w.ending
        ORDER BY s.subject OFFSET 0) f
WHERE f.seq > %(after_seq)s
"""
PAGE = 10_000


async def subjects_between(
    conn: AsyncConnection, organisation: UUID, stretches: Iterable[Stretch], *, after_seq: int = 0
) -> AsyncIterator[list[str]]:
    """Give the subjects of events past `after_seq` that lie in any of the stretches, a page at a time."""
    asked = {"organisation": organisation, **arrays_of(stretches), "after_seq": after_seq}
    async with conn.cursor(name="subjects_between") as cursor:
        await cursor.execute(SUBJECTS_BETWEEN, asked)
        while page := await cursor.fetchmany(PAGE):
            yield [subject for (subject,) in page]
