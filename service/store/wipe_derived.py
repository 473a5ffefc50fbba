"""Throw away everything derived of an organisation, as the owner: a rebuild writes it again from the log."""

from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

WIPE_DERIVED: Final = "SELECT ledger.wipe_derived(%(organisation)s::uuid)"


async def wipe_derived(conn: AsyncConnection, organisation: UUID) -> None:
    """Delete the derived rows; the caller's transaction decides whether it stays so."""
    await conn.execute(WIPE_DERIVED, {"organisation": organisation})
