"""The messages that could not be accepted, newest first."""

from collections.abc import Sequence
from datetime import datetime
from typing import Final, Literal, TypeAlias
from uuid import UUID

import msgspec
from psycopg import AsyncConnection
from psycopg.rows import class_row

State: TypeAlias = Literal["open", "accepted", "corrected", "dismissed"]
HowKept: TypeAlias = Literal["whole", "fields", "report", "erased"]

REJECTED_MESSAGES: Final = """
SELECT id, key, role, sites, received_at, last_received_at, recorded_at, sent_at, imported, count, body, fields, kept,
    event, kind, tag, site, adverse, status, problem, waiting_for, state, settled_at, settled_by, settled_key, reason,
    accepted_seq
FROM ledger.rejected_message
WHERE organisation = %(organisation)s
    AND (%(state)s::text IS NULL OR state = %(state)s)
    AND (%(sites)s::text[] IS NULL OR site = ANY (%(sites)s) OR adverse AND EXISTS (
        SELECT FROM ledger.unit u
        WHERE u.organisation = rejected_message.organisation AND u.tag = rejected_message.tag
            AND u.site = ANY (%(sites)s)))
    AND (%(before)s::timestamptz IS NULL OR (recorded_at, id) < (%(before)s, %(before_id)s::uuid))
ORDER BY recorded_at DESC, id DESC
LIMIT %(limit)s
"""


class RejectedMessage(msgspec.Struct, frozen=True, kw_only=True):
    """A message that was kept; `count` says how often it came.

    `kept` says what is left of it: there is a `body` where it is whole, and `fields` where only their names are.
    """

    id: UUID
    key: UUID
    role: str
    sites: list[str] | None
    received_at: datetime
    last_received_at: datetime
    recorded_at: datetime
    sent_at: datetime | None
    imported: bool
    count: int
    body: bytes | None
    fields: list[str] | None
    kept: HowKept
    event: UUID | None
    kind: str | None
    tag: str | None
    site: str | None
    adverse: bool
    status: int
    problem: bytes
    waiting_for: list[str]
    state: State
    settled_at: datetime | None
    settled_by: str | None
    settled_key: UUID | None
    reason: str | None
    accepted_seq: int | None


async def rejected_messages(
    conn: AsyncConnection,
    organisation: UUID,
    *,
    state: State | None,
    sites: Sequence[str] | None,
    before: tuple[datetime, UUID] | None,
    limit: int,
) -> list[RejectedMessage]:
    """Give at most `limit` messages before (recorded_at, id); `sites`: those of one, or of a unit there (None: all)."""
    parameters = {
        "organisation": organisation,
        "state": state,
        "sites": None if sites is None else list(sites),
        "before": before and before[0],
        "before_id": before and before[1],
        "limit": limit,
    }
    async with conn.cursor(row_factory=class_row(RejectedMessage)) as cursor:
        await cursor.execute(REJECTED_MESSAGES, parameters)
        return await cursor.fetchall()
