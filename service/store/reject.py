"""Keep a message that could not be accepted; a report of a failure among them is kept as one, too.

In a transaction that also appends, this comes after the append.
"""

from collections.abc import Sequence
from datetime import datetime
from typing import Final
from uuid import UUID

import msgspec
from psycopg import AsyncConnection

REJECT: Final = """
SELECT ledger.reject(
    %(organisation)s::uuid, %(key)s::uuid, %(role)s::text, %(sites)s::text[], %(received_at)s::timestamptz,
    %(sent_at)s::timestamptz, %(imported)s::boolean, %(body)s::bytea, %(event)s::uuid, %(kind)s::text, %(tag)s::text,
    %(site)s::text, %(adverse)s::boolean, %(status)s::smallint, %(problem)s::bytea, %(waiting_for)s::text[])
"""


class Rejection(msgspec.Struct, frozen=True, kw_only=True):
    """A message, what could be read of it, and why it was not accepted.

    `role` and `sites` are what the key was allowed; `status` and `problem` (JSON) what the sender was told;
    `waiting_for` the references whose arrival lets it be tried again ("asset:FX-0142", "event:0198...").
    """

    key: UUID
    role: str
    sites: Sequence[str] | None
    received_at: datetime
    sent_at: datetime | None
    imported: bool
    body: bytes
    event: UUID | None
    kind: str | None
    tag: str | None
    site: str | None
    adverse: bool
    status: int
    problem: bytes
    waiting_for: Sequence[str] = ()


async def reject(conn: AsyncConnection, organisation: UUID, rejection: Rejection) -> UUID:
    """Keep the message and give its id; the same body by the same key is the one kept before, counted once more."""
    fields = msgspec.structs.asdict(rejection)
    sites = None if rejection.sites is None else sorted(rejection.sites)
    cursor = await conn.execute(
        REJECT, fields | {"organisation": organisation, "sites": sites, "waiting_for": list(rejection.waiting_for)}
    )
    row = await cursor.fetchone()
    assert row is not None  # noqa: S101 - a function call gives one row
    return UUID(str(row[0]))
