"""Heads: how far logs go, and who waits for more of them.

Whoever waits holds no connection. While anybody waits for a log, one task of this process asks the database how far it
goes: at once where this process has recorded something, else at intervals that grow while nothing happens. Appends
notify nobody, since that would cost each of them more than all who wait are worth.
"""

import asyncio
from collections import Counter
from collections.abc import Awaitable, Callable, Iterator
from contextlib import contextmanager, suppress
from typing import Final
from uuid import UUID

from psycopg import OperationalError

from service.domain.errors import TooManyWaiting
from service.store.connecting import Pool
from service.store.head_seq import head_seq
from service.store.scope import writing

SHORTEST: Final = 0.05
"""Seconds between two looks at a log, at least, and after something was found."""
LONGEST: Final = 1.0
"""Seconds between two looks at a log where nothing happens."""
PLACES: Final = 10
"""How many long polls and streams of one key may wait in this process."""
READERS: Final = 2
"""How many of those that waited read at the same time: when all wake, they leave the pool to others."""

Look = Callable[[], Awaitable[int]]


class _Watch:
    """One log: how far it was last seen to go, and who waits for which seq."""

    def __init__(self, look: Look) -> None:
        self.seq = 0
        self.waiting: dict[asyncio.Future[bool], int] = {}
        self.nudged = asyncio.Event()
        self.pause = SHORTEST
        self._look = look

    def tell(self, seq: int) -> None:
        """Wake those who have what they wait for."""
        self.seq = max(self.seq, seq)
        for waiter, wanted in self.waiting.items():
            if wanted <= self.seq and not waiter.done():
                waiter.set_result(True)

    def end(self) -> None:
        """Wake everybody, with or without what they wait for."""
        for waiter, wanted in self.waiting.items():
            if not waiter.done():
                waiter.set_result(wanted <= self.seq)
        self.nudged.set()

    async def run(self) -> None:
        """Look as long as somebody waits. While the database is away, whoever waits finds out by itself."""
        while self.waiting:
            self.nudged.clear()
            before = self.seq
            with suppress(OperationalError):
                self.tell(await self._look())
            self.pause = SHORTEST if self.seq > before else min(2 * self.pause, LONGEST)
            await asyncio.sleep(SHORTEST)
            with suppress(TimeoutError):
                async with asyncio.timeout(self.pause - SHORTEST):
                    await self.nudged.wait()


class Heads:
    """What this process knows of how far logs go, and all who wait in it."""

    def __init__(self) -> None:
        self.reading = asyncio.Semaphore(READERS)
        self.ended = False
        self._watches: dict[UUID, _Watch] = {}
        self._tasks: set[asyncio.Task[None]] = set()
        self._places: Counter[UUID] = Counter()

    async def reach(self, pool: Pool, organisation: UUID, seq: int, seconds: float) -> bool:
        """Wait until the database that the pool leads to holds an event, at most so long; say whether it does."""
        if self.ended:
            return False
        watch = self._watch(pool, organisation)
        if watch.seq >= seq:
            return True
        waiter: asyncio.Future[bool] = asyncio.get_running_loop().create_future()
        watch.waiting[waiter] = seq
        watch.nudged.set()
        try:
            async with asyncio.timeout(seconds):
                return await waiter
        except TimeoutError:
            return False
        finally:
            del watch.waiting[waiter]
            watch.nudged.set()

    def recorded(self, organisation: UUID) -> None:
        """Have the organisation's log looked at at once, since this process recorded something in it."""
        if organisation in self._watches:
            self._watches[organisation].nudged.set()

    @contextmanager
    def place(self, key: UUID) -> Iterator[None]:
        """Take one of the places that a key has, for as long as the block lasts. Raises TooManyWaiting."""
        if self._places[key] >= PLACES:
            raise TooManyWaiting(PLACES)
        self._places[key] += 1
        try:
            yield
        finally:
            self._places[key] -= 1
            if not self._places[key]:
                del self._places[key]

    @property
    def waiting(self) -> int:
        """Count the places that are taken."""
        return self._places.total()

    @property
    def watched(self) -> int:
        """Count the logs that somebody waits for."""
        return len(self._watches)

    def end(self) -> None:
        """End every wait, and let nobody wait any more: the service stops."""
        self.ended = True
        for watch in self._watches.values():
            watch.end()

    async def finished(self) -> None:
        """Wait until nothing is asked of the database any more."""
        await asyncio.gather(*self._tasks)

    def _watch(self, pool: Pool, organisation: UUID) -> _Watch:
        """Give the watch over a log, begun if there was none."""
        found = self._watches.get(organisation)
        if found is None:

            async def look() -> int:
                async with writing(pool, organisation) as conn:
                    return await head_seq(conn, organisation)

            found = self._watches[organisation] = _Watch(look)
            task = asyncio.create_task(self._watched(organisation, found))
            self._tasks.add(task)
            task.add_done_callback(self._tasks.discard)
        return found

    async def _watched(self, organisation: UUID, watch: _Watch) -> None:
        """Watch until nobody waits."""
        try:
            await watch.run()
        finally:
            del self._watches[organisation]
