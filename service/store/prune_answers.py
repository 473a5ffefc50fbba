"""Forget answers that are given again no more, a batch at a time."""

from datetime import datetime
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

PRUNE_ANSWERS: Final = """
DELETE FROM ledger.given_answer
WHERE organisation = %(organisation)s AND (key, name) IN (
    SELECT g.key, g.name FROM ledger.given_answer g
    WHERE g.organisation = %(organisation)s AND g.given_at <= %(until)s
    ORDER BY g.given_at
    LIMIT %(limit)s)
"""


async def prune_answers(conn: AsyncConnection, organisation: UUID, *, until: datetime, limit: int) -> int:
    """Forget at most `limit` answers given by then, oldest first, as the owner; give how many."""
    parameters = {"organisation": organisation, "until": until, "limit": limit}
    return (await conn.execute(PRUNE_ANSWERS, parameters)).rowcount
