"""Write again what is derived for kins, without any new event: after a change of code or time zones, in a rebuild."""

from collections.abc import Sequence
from typing import Final
from uuid import UUID

import msgspec
from psycopg import AsyncConnection, DatabaseError

from service.store.append import raise_stale
from service.store.kin_write import KINS, KinWrite, kin_columns
from service.store.positional import numbered, rows_of

REWRITE: Final = (
    """
SELECT kin, written, version FROM ledger.rewrite(%(organisation)s::uuid, %(context_seq)s::bigint,
"""
    + KINS
)
CALL: Final = numbered(REWRITE)


class Rewritten(msgspec.Struct, frozen=True):
    """Whether a kin was written, and its version now; one that was not at the expected version was left alone."""

    kin: str
    written: bool
    version: int | None


async def rewrite(
    conn: AsyncConnection, organisation: UUID, *, context_seq: int, kins: Sequence[KinWrite]
) -> list[Rewritten]:
    """Write the kins that are at their expected version; raises StaleContext as `append` does."""
    columns = kin_columns(kins, [True] * len(kins))
    try:
        parameters = {"organisation": organisation, "context_seq": context_seq, **columns}
        return await rows_of(conn, CALL, parameters, Rewritten)
    except DatabaseError as error:
        raise_stale(error)
        raise
