"""Gathering: what comes at about the same time for one organisation is worked on together, in the order it came.

A group waits for nobody: while one is worked on, whatever comes makes up the next. So a lone sender is served at once,
and many share one transaction. Each organisation has a queue of its own, and one group of it is worked on at a time.
"""

import asyncio
from collections import deque
from collections.abc import Awaitable, Callable, Iterator, Sequence
from typing import Final, Generic, TypeVar
from uuid import UUID

from service.domain.errors import Overloaded

MOST_TOGETHER: Final = 256
"""How many things a group holds at most, unless one caller alone brings more."""
MOST_WAITING: Final = 4096
"""How many things of one organisation may wait at most, in this process, unless one caller alone brings more."""
MOST_BYTES: Final = 64 * 2**20
"""How many bytes things of one organisation may have that wait or are worked on, in this process."""
MOST_BYTES_OF_ALL: Final = 4 * MOST_BYTES
"""How many bytes the things of all organisations may have together."""

T = TypeVar("T")
R = TypeVar("R")
Work = Callable[[Sequence[T]], Awaitable[Sequence[R | Exception]]]
"""Works on things in their order, and gives what came of each: its result, or why there is none."""


class _Member(Generic[T, R]):
    """What one caller brought, and what it waits for."""

    __slots__ = ("done", "size", "things")

    def __init__(self, things: Sequence[T], size: int) -> None:
        self.things, self.size = things, size
        self.done: asyncio.Future[list[R | Exception]] = asyncio.get_running_loop().create_future()

    def settle(self, outcomes: Sequence[R | Exception]) -> None:
        """Answer the caller, who may be gone."""
        if not self.done.done():
            self.done.set_result(list(outcomes))


class _Queue(Generic[T, R]):
    """What waits for one organisation."""

    def __init__(self) -> None:
        self.members: deque[_Member[T, R]] = deque()
        self.count = 0
        self.size = 0
        self.task: asyncio.Task[None] | None = None

    def add(self, member: _Member[T, R]) -> None:
        """Put a caller at the end. Raises Overloaded."""
        if self.members and self.count + len(member.things) > MOST_WAITING:
            raise Overloaded
        if self.size and self.size + member.size > MOST_BYTES:
            raise Overloaded
        self.members.append(member)
        self.count += len(member.things)
        self.size += member.size

    def group(self) -> list[_Member[T, R]]:
        """Take the callers whose turn it is."""
        taken = list(self._taken())
        self.count -= sum(len(member.things) for member in taken)
        return taken

    def _taken(self) -> Iterator[_Member[T, R]]:
        room = MOST_TOGETHER
        while self.members and (room == MOST_TOGETHER or len(self.members[0].things) <= room):
            member = self.members.popleft()
            room -= len(member.things)
            yield member


class Gathering(Generic[T, R]):
    """What waits in this process, by organisation."""

    def __init__(self) -> None:
        self._queues: dict[UUID, _Queue[T, R]] = {}

    @property
    def size(self) -> int:
        """Give the bytes of all that waits or is worked on."""
        return sum(queue.size for queue in self._queues.values())

    async def join(
        self, organisation: UUID, things: Sequence[T], work: Work[T, R], *, size: int
    ) -> list[R | Exception]:
        """Have things of so many bytes worked on with others of their organisation, and give what came of each.

        They are worked on even if the caller goes away meanwhile. Raises Overloaded where too much waits already.
        """
        if self._queues and self.size + size > MOST_BYTES_OF_ALL:
            raise Overloaded
        queue = self._queues.setdefault(organisation, _Queue())
        member: _Member[T, R] = _Member(things, size)
        queue.add(member)
        if queue.task is None:
            queue.task = asyncio.create_task(self._work(organisation, queue, work))
        return await asyncio.shield(member.done)

    async def finished(self) -> None:
        """Wait until nobody waits any more; whose caller is gone is worked on, too."""
        await asyncio.gather(*(queue.task for queue in self._queues.values() if queue.task is not None))

    async def _work(self, organisation: UUID, queue: _Queue[T, R], work: Work[T, R]) -> None:
        """Work on group after group until nobody waits."""
        try:
            while group := queue.group():
                await _worked(group, work)
                queue.size -= sum(member.size for member in group)
        finally:
            del self._queues[organisation]


async def _worked(group: Sequence[_Member[T, R]], work: Work[T, R]) -> None:
    """Work on one group, and answer each of its callers whatever happens."""
    outcomes: Sequence[R | Exception] = ()
    try:
        outcomes = await work([thing for member in group for thing in member.things])
    except Exception as error:  # noqa: BLE001 -- it is handed to every caller of the group
        outcomes = [error] * sum(len(member.things) for member in group)
    place = 0
    for member in group:
        member.settle(outcomes[place : place + len(member.things)])
        place += len(member.things)
