"""Lock the kins of tags until the transaction ends.

For a transaction that rewrites them after `reject` or `settle`: those take the organisation's lock, and whoever waits
for a kin while holding that lock can wait for a writer that waits for it.
"""

from collections.abc import Iterable
from typing import Final
from uuid import UUID

from psycopg import AsyncConnection

from service.store.arrays import Texts

LOCK_KINS: Final = "SELECT ledger.lock_kins_of(%(organisation)s::uuid, %(tags)s::text[])"


async def lock_kins(conn: AsyncConnection, organisation: UUID, tags: Iterable[str]) -> None:
    """Wait for the writers of these kins and keep others from them; a tag without a kin locks nothing."""
    await conn.execute(LOCK_KINS, {"organisation": organisation, "tags": Texts(tags)})
