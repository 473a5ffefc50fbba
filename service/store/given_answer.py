"""The answer that a named request was given, if it is given again still."""

from datetime import datetime, timedelta
from typing import Final
from uuid import UUID

import msgspec
from psycopg import AsyncConnection
from psycopg.rows import class_row

KEPT: Final = timedelta(days=7)
"""How long an answer is given again."""

GIVEN_ANSWER: Final = """
SELECT asked, status, media, headers, body FROM ledger.given_answer
WHERE organisation = %(organisation)s AND key = %(key)s AND name = %(name)s AND given_at > %(since)s
"""


class GivenAnswer(msgspec.Struct, frozen=True, kw_only=True):
    """An answer: SHA-256 of what was asked, status, media type, own headers as JSON, body."""

    asked: bytes
    status: int
    media: str
    headers: bytes
    body: bytes


async def given_answer(
    conn: AsyncConnection, organisation: UUID, *, key: UUID, name: str, since: datetime
) -> GivenAnswer | None:
    """Give the answer to the request of that name by a key, if it was given later than `since`."""
    parameters = {"organisation": organisation, "key": key, "name": name, "since": since}
    async with conn.cursor(row_factory=class_row(GivenAnswer)) as cursor:
        return await (await cursor.execute(GIVEN_ANSWER, parameters)).fetchone()
