"""Places: so many in all and so many for one organisation, so that none has them all.

Who finds none free waits behind its own organisation first: before another's turn no organisation has more in the queue
of all than its share.
"""

import asyncio
from collections import defaultdict
from uuid import UUID


class Places:
    """Places of this process, `most` in all and `each` for an organisation."""

    def __init__(self, most: int, each: int) -> None:
        self._all = asyncio.Semaphore(most)
        self._of: defaultdict[UUID, asyncio.Semaphore] = defaultdict(lambda: asyncio.Semaphore(each))

    async def take(self, organisation: UUID) -> None:
        """Take a place, when its turn comes."""
        await self._of[organisation].acquire()
        try:
            await self._all.acquire()
        except asyncio.CancelledError:
            self._of[organisation].release()
            raise

    def give_back(self, organisation: UUID) -> None:
        """Leave a place to whoever is next."""
        self._all.release()
        self._of[organisation].release()


class Turn:
    """What one line has of the places: nothing, a wait for one, or one."""

    def __init__(self, places: Places, organisation: UUID) -> None:
        self._places, self._organisation = places, organisation
        self.coming: asyncio.Task[None] | None = None

    async def has_come(self) -> bool:
        """Say whether there is a place; where there is none, it is waited for from now on."""
        if self.coming is None:
            self.coming = asyncio.create_task(self._places.take(self._organisation))
            await asyncio.sleep(0)  # what is free is taken meanwhile
        return self.coming.done()

    def is_over(self) -> None:
        """Give the place back, or wait for none any more."""
        coming, self.coming = self.coming, None
        if coming is not None and not coming.cancel():
            self._places.give_back(self._organisation)
