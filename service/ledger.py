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


class Readers:
    """Part of the pool for the readers of an organisation: held up by its lock, they leave the rest to others.

    So does an organisation that asks very much at once.
    """

    def __init__(self) -> None:
        self._places: dict[UUID, asyncio.Semaphore] = {}

    def of(self, organisation: UUID, pool: Pool) -> asyncio.Semaphore:
        """Give the places of the organisation's readers: half as many as the pool has connections."""
        return self._places.setdefault(organisation, asyncio.Semaphore(max(1, pool.max_size // 2)))


class Ledger(msgspec.Struct, frozen=True, kw_only=True):
    """The database and the clock, wired once in `service.app`; what this process remembers, and whose turn it is."""

    pool: Pool
    clock: Callable[[], datetime]
    memory: Memory = msgspec.field(default_factory=Memory)
    turns: Turns = msgspec.field(default_factory=Turns)
    readers: Readers = msgspec.field(default_factory=Readers)
    gathering: Gathering[Any, Any] = msgspec.field(default_factory=Gathering)
    heads: Heads = msgspec.field(default_factory=Heads)
