"""Which rules, code and time zones the derived rows were judged with."""

from typing import Final
from uuid import UUID

import msgspec
from psycopg import AsyncConnection
from psycopg.rows import class_row

GENERATION: Final = """
SELECT generation, rules_to, code_version, tzdata_version FROM ledger.generation
WHERE organisation = %(organisation)s
ORDER BY generation DESC
LIMIT 1
"""


class Generation(msgspec.Struct, frozen=True, kw_only=True):
    """`rules_to` is the newest context event that the derived rows were judged with."""

    generation: int
    rules_to: int
    code_version: str
    tzdata_version: str


async def generation(conn: AsyncConnection, organisation: UUID) -> Generation | None:
    """Give the newest generation, or None before the first."""
    async with conn.cursor(row_factory=class_row(Generation)) as cursor:
        await cursor.execute(GENERATION, {"organisation": organisation})
        return await cursor.fetchone()
