"""Keep a message that could not be accepted; a report of a failure among them is kept as one, too, whatever the quota.

In a transaction that also appends, this comes after the append.
"""

from collections.abc import Sequence
from datetime import datetime
from typing import Final, Literal
from uuid import UUID

import msgspec
from psycopg import AsyncConnection
from psycopg.rows import class_row

from service.store.rejected_messages import HowKept

REJECT: Final = """
SELECT r_id AS id, r_kept AS kept, r_more AS more
FROM ledger.reject(
    %(organisation)s::uuid, %(key)s::uuid, %(role)s::text, %(sites)s::text[], %(received_at)s::timestamptz,
    %(sent_at)s::timestamptz, %(imported)s::boolean, %(body)s::bytea, %(fields)s::text[], %(event)s::uuid,
    %(kind)s::text, %(tag)s::text, %(site)s::text, %(device)s::text, %(device_seq)s::bigint, %(adverse)s::boolean,
    %(status)s::smallint, %(problem)s::bytea, %(waiting_for)s::text[], %(room)s::boolean)
"""


class Rejection(msgspec.Struct, frozen=True, kw_only=True):
    """A message, what could be read of it, and why it was not accepted.

    `role` and `sites` are what the key was allowed; `status` and `problem` (JSON) what the sender was told;
    `waiting_for` the references whose arrival lets it be tried again ("asset:FX-0142", "event:0198..."). With `fields`
    only those names and a hash of the body are kept.
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
    device: str | None = None
    device_seq: int | None = None
    waiting_for: Sequence[str] = ()
    fields: Sequence[str] | None = None


class Rejected(msgspec.Struct, frozen=True):
    """The rejected message, none where nothing is kept; what is kept of it, and whether that is more than before."""

    id: UUID | None
    kept: HowKept | Literal["nothing"]
    more: bool


async def reject(conn: AsyncConnection, organisation: UUID, rejection: Rejection, *, room: bool = True) -> Rejected:
    """Keep the message; the same body by the same key is the one kept before, counted once more.

    Without room for its body a report of a failure is kept without it, and nothing of any other message.
    """
    fields = msgspec.structs.asdict(rejection) | {"organisation": organisation, "room": room}
    for name in ("sites", "fields", "waiting_for"):
        fields[name] = None if fields[name] is None else list(fields[name])
    async with conn.cursor(row_factory=class_row(Rejected)) as cursor:
        await cursor.execute(REJECT, fields)
        row = await cursor.fetchone()
    assert row is not None  # noqa: S101 - a function call gives one row
    return row
