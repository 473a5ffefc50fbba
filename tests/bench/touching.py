"""What a piece of work touches: pages of the ledger's tables and indexes, rows read, and statements sent.

As the database counts them: the numbers hang on what there is and what is asked, not on how fast it goes.
"""

from collections.abc import AsyncIterator
from contextlib import AsyncExitStack, asynccontextmanager
from typing import Final

import msgspec

from service.store.connecting import Pool
from tests.databases.statements import statements

TOUCHED: Final = """
SELECT sum(heap_blks_hit + heap_blks_read + coalesce(idx_blks_hit + idx_blks_read, 0)
        + coalesce(toast_blks_hit + toast_blks_read + tidx_blks_hit + tidx_blks_read, 0))::bigint,
    sum(seq_tup_read + coalesce(idx_tup_fetch, 0))::bigint
FROM pg_statio_user_tables JOIN pg_stat_user_tables USING (relid)
"""


class Touched(msgspec.Struct):
    """What was touched, once it is over."""

    pages: int = 0
    rows: int = 0
    statements: int = 0


@asynccontextmanager
async def touching(pool: Pool, size: int) -> AsyncIterator[Touched]:
    """Count what the block touches through a pool of so many connections, while nobody else is at work there."""
    found = Touched()
    pages, rows = await _so_far(pool, size)
    with statements() as sent:
        yield found
    after = await _so_far(pool, size)
    found.pages, found.rows, found.statements = after[0] - pages, after[1] - rows, len(sent)


async def _so_far(pool: Pool, size: int) -> tuple[int, int]:
    """Have every connection tell what it has counted, and read it; they tell by themselves only now and then."""
    async with AsyncExitStack() as stack:
        conns = [await stack.enter_async_context(pool.connection()) for _ in range(size)]
        for conn in conns:
            await conn.execute("SELECT pg_stat_force_next_flush()")
        row = await (await conns[0].execute(TOUCHED)).fetchone()
    if row is None:  # pragma: no cover - a sum without a GROUP BY has one row
        raise LookupError
    return int(row[0]), int(row[1])
