"""Load kins as they were last written: version and snapshot."""

from collections.abc import Iterable
from typing import Final
from uuid import UUID

import msgspec
from psycopg import AsyncConnection
from psycopg.rows import class_row

from service.store.arrays import Texts

LOAD_KINS: Final = """
SELECT k.kin, k.version, k.snapshot,
    ARRAY (
        SELECT h.tag FROM ledger.kinship h WHERE h.organisation = k.organisation AND h.kin = k.kin ORDER BY h.tag
    ) AS tags
FROM ledger.kin k
WHERE k.organisation = %(organisation)s AND k.kin = ANY (%(kins)s::text[] || ARRAY (
    SELECT h.kin FROM ledger.kinship h
    WHERE h.organisation = %(organisation)s AND h.tag = ANY (%(tags)s::text[])))
ORDER BY k.kin
"""


class LoadedKin(msgspec.Struct, frozen=True):
    """A kin: `version` is what the next write has to expect."""

    kin: str
    version: int
    snapshot: bytes
    tags: list[str]


async def load_kins(
    conn: AsyncConnection, organisation: UUID, kins: Iterable[str] = (), *, tags: Iterable[str] = ()
) -> dict[str, LoadedKin]:
    """Give the kins that exist of the names and the tags, by name; a new one is written with version 0 expected."""
    async with conn.cursor(row_factory=class_row(LoadedKin)) as cursor:
        await cursor.execute(LOAD_KINS, {"organisation": organisation, "kins": Texts(kins), "tags": Texts(tags)})
        return {loaded.kin: loaded for loaded in await cursor.fetchall()}
