"""Put standing intervals into order of time on disk, as the owner, after a rebuild wrote them unit by unit."""

from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

SORT_INTERVALS: Final = "SELECT ledger.sort_intervals(%(organisation)s::uuid)"


async def sort_intervals(conn: AsyncConnection, organisation: UUID) -> None:
    """Write the intervals again in order of `since`."""
    await conn.execute(SORT_INTERVALS, {"organisation": organisation})
