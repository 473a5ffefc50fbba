"""Settle a message that was not accepted, and with it the report of a failure that it may be."""

from typing import Final, Literal
from uuid import UUID

from psycopg import AsyncConnection

SETTLE: Final = """
SELECT ledger.settle(
    %(organisation)s::uuid, %(id)s::uuid, %(state)s::text, %(by)s::text, %(key)s::uuid, %(reason)s::text,
    %(accepted_seq)s::bigint)
"""


async def settle(
    conn: AsyncConnection,
    organisation: UUID,
    rejected: UUID,
    *,
    state: Literal["accepted", "corrected", "dismissed"],
    key: UUID | None,
    by: str | None = None,
    reason: str | None = None,
    accepted_seq: int | None = None,
) -> bool:
    """Settle the message; False when it is not open.

    Accepted or corrected names the event it became and ends at that event's moment; dismissed gives a reason. In a
    transaction that also appends, this comes after the append.
    """
    cursor = await conn.execute(
        SETTLE,
        {
            "organisation": organisation,
            "id": rejected,
            "state": state,
            "key": key,
            "by": by,
            "reason": reason,
            "accepted_seq": accepted_seq,
        },
    )
    row = await cursor.fetchone()
    return row is not None and row[0] is True
