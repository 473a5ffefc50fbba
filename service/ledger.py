"""What every use of the service works with."""

from collections.abc import Callable
from datetime import datetime

import msgspec

from service.store.connecting import Pool


class Ledger(msgspec.Struct, frozen=True, kw_only=True):
    """The database and the clock, wired once in `service.app`."""

    pool: Pool
    clock: Callable[[], datetime]
