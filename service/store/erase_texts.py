"""Erase the free text of an event; its body and every proof stay as they are."""

from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

ERASE_TEXTS: Final = "DELETE FROM ledger.free_text WHERE organisation = %(organisation)s AND event = %(event)s"


async def erase_texts(conn: AsyncConnection, organisation: UUID, event: UUID) -> int:
    """Erase all texts of the event; give how many there were."""
    cursor = await conn.execute(ERASE_TEXTS, {"organisation": organisation, "event": event})
    return cursor.rowcount
