"""What every use of the service works with."""

import asyncio
from collections import defaultdict
from collections.abc import Callable
from datetime import datetime
from typing import Any
from uuid import UUID

import msgspec

from service.gathering import Gathering
from service.heads import Heads
from service.known import Memory
from service.store.connecting import Pool


class Turns:
    """One writer of an organisation at a time in this process: the others would only decide in vain.

    Messages to be recorded wait for it in `Ledger.gathering`, and share it.
    """

    def __init__(self) -> None:
        self._locks: defaultdict[UUID, asyncio.Lock] = defaultdict(asyncio.Lock)

    def of(self, organisation: UUID) -> asyncio.Lock:
        """Give the organisation's lock."""
        return self._locks[organisation]


class Ledger(msgspec.Struct, frozen=True, kw_only=True):
    """The database and the clock, wired once in `service.app`; what this process remembers, and whose turn it is."""

    pool: Pool
    clock: Callable[[], datetime]
    memory: Memory = msgspec.field(default_factory=Memory)
    turns: Turns = msgspec.field(default_factory=Turns)
    gathering: Gathering[Any, Any] = msgspec.field(default_factory=Gathering)
    heads: Heads = msgspec.field(default_factory=Heads)
