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

T = TypeVar("T")
R = TypeVar("R")
Work = Callable[[Sequence[T]], Awaitable[Sequence[R | Exception]]]
"""Works on things in their order, and gives what came of each: its result, or why there is none."""


class _Member(Generic[T, R]):
    """What one caller brought, and what it waits for."""

    __slots__ = ("done", "things")

    def __init__(self, things: Sequence[T]) -> None:
        self.things = things
        self.done: asyncio.Future[list[R]] = asyncio.get_running_loop().create_future()

    def settle(self, outcomes: Sequence[R | Exception]) -> None:
        """Answer the caller, who may be gone; it fails if anything of its own did."""
        if self.done.done():
            return
        failed = next((one for one in outcomes if isinstance(one, Exception)), None)
        if failed is None:
            self.done.set_result([one for one in outcomes if not isinstance(one, Exception)])
        else:
            self.done.set_exception(failed)
            self.done.exception()  # seen, also where the caller is gone


class _Queue(Generic[T, R]):
    """What waits for one organisation."""

    def __init__(self) -> None:
        self.members: deque[_Member[T, R]] = deque()
        self.count = 0
        self.task: asyncio.Task[None] | None = None

    def add(self, member: _Member[T, R]) -> None:
        """Put a caller at the end. Raises Overloaded."""
        if self.members and self.count + len(member.things) > MOST_WAITING:
            raise Overloaded
        self.members.append(member)
        self.count += len(member.things)

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

    async def join(self, organisation: UUID, things: Sequence[T], work: Work[T, R]) -> list[R]:
        """Have things worked on with others of their organisation, and give what came of each of them.

        They are worked on even if the caller goes away meanwhile. Raises Overloaded where too many wait already, else
        what `work` says of the first of these things that has no result.
        """
        queue = self._queues.setdefault(organisation, _Queue())
        member: _Member[T, R] = _Member(things)
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
