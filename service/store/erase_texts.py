"""Erase the free text of an event; its body and every proof stay as they are."""

from typing import Final
from uuid import UUID

import msgspec
from psycopg import AsyncConnection
from psycopg.rows import class_row

ERASE_TEXTS: Final = """
DELETE FROM ledger.free_text
WHERE organisation = %(organisation)s AND event = %(event)s
RETURNING event, path
"""


class ErasedText(msgspec.Struct, frozen=True, order=True):
    """Where a text was."""

    event: UUID
    path: str


async def erase_texts(conn: AsyncConnection, organisation: UUID, event: UUID) -> list[ErasedText]:
    """Erase all texts of the event, as the owner; give their places in order."""
    async with conn.cursor(row_factory=class_row(ErasedText)) as cursor:
        await cursor.execute(ERASE_TEXTS, {"organisation": organisation, "event": event})
        return sorted(await cursor.fetchall())
