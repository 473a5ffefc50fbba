"""What every use of the service works with."""

from collections.abc import Callable
from datetime import datetime
from typing import TypeAlias

import msgspec
from psycopg import AsyncConnection
from psycopg.rows import TupleRow
from psycopg_pool import AsyncConnectionPool

Pool: TypeAlias = AsyncConnectionPool[AsyncConnection[TupleRow]]


class Ledger(msgspec.Struct, frozen=True, kw_only=True):
    """The database and the clock, wired once in `service.app`."""

    pool: Pool
    clock: Callable[[], datetime]
