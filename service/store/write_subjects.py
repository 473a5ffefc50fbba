"""Replace what stored events are filed under; in a rebuild, or when a later event shows more of what they speak of."""

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

from service.store.arrays import Bigints, Instants, Texts

WRITE_SUBJECTS: Final = """
SELECT ledger.write_subjects(
    %(organisation)s::uuid, %(events)s::bigint[], %(subjects)s::text[], %(instants)s::timestamptz[], %(seqs)s::bigint[])
"""


async def write_subjects(
    conn: AsyncConnection, organisation: UUID, subjects: Mapping[int, Iterable[tuple[str, datetime]]]
) -> None:
    """File each event, by its seq, under these subjects and no others."""
    rows = [(subject, instant, seq) for seq, pairs in subjects.items() for subject, instant in dict.fromkeys(pairs)]
    await conn.execute(
        WRITE_SUBJECTS,
        {
            "organisation": organisation,
            "events": Bigints(subjects),
            "subjects": Texts(subject for subject, _, _ in rows),
            "instants": Instants(instant for _, instant, _ in rows),
            "seqs": Bigints(seq for _, _, seq in rows),
        },
    )
