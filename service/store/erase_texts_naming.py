"""Erase the free text of every event that names someone: by whom, about whom, for whom, handed to whom.

A reference stands in a body between quotes and unescaped, so that its bytes are looked for. An asset of the same name
is found, too: erased is rather too much than too little.
"""

from typing import Final
from uuid import UUID

from psycopg import AsyncConnection
from psycopg.rows import class_row

from service.store.erase_texts import ErasedText

ERASE_TEXTS_NAMING: Final = """
DELETE FROM ledger.free_text t USING ledger.event e
WHERE t.organisation = %(organisation)s AND e.organisation = t.organisation AND e.id = t.event
    AND position(%(quoted)s::bytea IN e.body) > 0
RETURNING t.event, t.path
"""


async def erase_texts_naming(conn: AsyncConnection, organisation: UUID, reference: str) -> list[ErasedText]:
    """Erase the texts, as the owner; give their places in order."""
    async with conn.cursor(row_factory=class_row(ErasedText)) as cursor:
        quoted = f'"{reference}"'.encode()
        await cursor.execute(ERASE_TEXTS_NAMING, {"organisation": organisation, "quoted": quoted})
        return sorted(await cursor.fetchall())
