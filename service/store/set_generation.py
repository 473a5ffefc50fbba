"""Say which rules, code and time zones the derived rows were judged with."""

from typing import Final
from uuid import UUID

import msgspec
from psycopg import AsyncConnection

from service.store.generation import Generation

SET_GENERATION: Final = """
SELECT ledger.set_generation(
    %(organisation)s::uuid, %(generation)s::integer, %(rules_to)s::bigint, %(code_version)s::text,
    %(tzdata_version)s::text)
"""


async def set_generation(conn: AsyncConnection, organisation: UUID, generation: Generation) -> None:
    """Write the generation; a context event moves its `rules_to` on by itself."""
    await conn.execute(SET_GENERATION, msgspec.structs.asdict(generation) | {"organisation": organisation})
