"""Erase what was sent in rejected messages that were settled long ago, a batch at a time."""

from datetime import datetime
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

PRUNE_REJECTED: Final = """
UPDATE ledger.rejected_message
SET body = NULL, fields = NULL, erased_at = %(at)s, problem = ledger.bare_problem(problem)
WHERE organisation = %(organisation)s AND id IN (
    SELECT r.id FROM ledger.rejected_message r
    WHERE r.organisation = %(organisation)s AND r.state <> 'open' AND r.erased_at IS NULL
        AND r.settled_at <= %(settled_until)s
    ORDER BY r.settled_at
    LIMIT %(limit)s)
"""


async def prune_rejected(
    conn: AsyncConnection, organisation: UUID, *, at: datetime, settled_until: datetime, limit: int
) -> int:
    """Erase at most `limit` messages settled by then, oldest settlement first, as the owner; give how many."""
    parameters = {"organisation": organisation, "at": at, "settled_until": settled_until, "limit": limit}
    return (await conn.execute(PRUNE_REJECTED, parameters)).rowcount
