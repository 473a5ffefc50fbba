"""Erase what was sent in rejected messages; that they came, how they ended and the reports of failures stay."""

from datetime import datetime
from typing import Final
from uuid import UUID

import msgspec
from psycopg import AsyncConnection
from psycopg.rows import class_row

ERASE_REJECTED: Final = """
UPDATE ledger.rejected_message
SET body = NULL, fields = NULL, erased_at = %(at)s, reason = CASE WHEN reason IS NOT NULL THEN 'erased' END,
    problem = ledger.bare_problem(problem)
WHERE organisation = %(organisation)s AND erased_at IS NULL
    AND (id = %(id)s OR key = %(key)s OR position(%(quoted)s::bytea IN body) > 0)
RETURNING id, state, kind, tag, recorded_at
"""


class ErasedMessage(msgspec.Struct, frozen=True):
    """What is still known of an erased message."""

    id: UUID
    state: str
    kind: str | None
    tag: str | None
    recorded_at: datetime


async def erase_rejected(
    conn: AsyncConnection,
    organisation: UUID,
    at: datetime,
    *,
    rejected: UUID | None = None,
    key: UUID | None = None,
    naming: str | None = None,
) -> list[ErasedMessage]:
    """Erase one message, all of a key, or all that name a reference between quotes, as the owner; oldest first.

    Nothing of a message that has been erased before is given.
    """
    parameters = {
        "organisation": organisation,
        "at": at,
        "id": rejected,
        "key": key,
        "quoted": None if naming is None else f'"{naming}"'.encode(),
    }
    async with conn.cursor(row_factory=class_row(ErasedMessage)) as cursor:
        await cursor.execute(ERASE_REJECTED, parameters)
        return sorted(await cursor.fetchall(), key=lambda message: (message.recorded_at, message.id))
