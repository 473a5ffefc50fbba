"""Every free text that is kept, beside the body that proves it."""

from collections.abc import AsyncIterator
from typing import Final
from uuid import UUID

import msgspec
from psycopg import AsyncConnection
from psycopg.rows import class_row

SEALED_TEXTS: Final = """
SELECT e.seq, t.event, t.path, t.key, t.text, e.body
FROM ledger.free_text t LEFT JOIN ledger.event e ON e.organisation = t.organisation AND e.id = t.event
WHERE t.organisation = %(organisation)s
ORDER BY e.seq, t.path
"""


class SealedText(msgspec.Struct, frozen=True):
    """A text, and where its HMAC stands; `seq` and `body` are None where no event has its id."""

    seq: int | None
    event: UUID
    path: str
    key: bytes
    text: str
    body: bytes | None


async def sealed_texts(conn: AsyncConnection, organisation: UUID) -> AsyncIterator[SealedText]:
    """Give every kept text in order of seq and path, a few at a time."""
    async with conn.cursor(name="sealed_texts", row_factory=class_row(SealedText)) as cursor:
        await cursor.execute(SEALED_TEXTS, {"organisation": organisation})
        async for text in cursor:
            yield text
