"""Which of some stretches of subjects anything is filed in."""

from collections.abc import Iterable
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

from service.store.arrays import Integers, Texts

# Nobody can foresee how many lie between two subjects; in order the first is found by the index.
NUMBERS_FILED: Final = """
SELECT DISTINCT w.number
FROM unnest(%(numbers)s::integer[], %(firsts)s::text[], %(lasts)s::text[]) w (number, first, last)
    CROSS JOIN LATERAL (
        SELECT FROM ledger.event_subject s
        WHERE s.organisation = %(organisation)s AND s.subject >= w.first COLLATE "C" AND s.subject <= w.last COLLATE "C"
            AND s.seq <= %(until_seq)s
        ORDER BY s.subject LIMIT 1) f
"""


async def numbers_filed(
    conn: AsyncConnection, organisation: UUID, stretches: Iterable[tuple[int, str, str]], until_seq: int
) -> set[int]:
    """Give the numbers of the stretches in which an event up to a seq is filed; both ends belong to a stretch."""
    every = list(stretches)
    asked = {
        "organisation": organisation,
        "numbers": Integers(number for number, _, _ in every),
        "firsts": Texts(first for _, first, _ in every),
        "lasts": Texts(last for _, _, last in every),
        "until_seq": until_seq,
    }
    cursor = await conn.execute(NUMBERS_FILED, asked)
    return {number for (number,) in await cursor.fetchall()}
