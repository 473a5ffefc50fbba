"""What the checks share: asking the service, page by page and side by side, and what they are told to expect."""

import asyncio
from collections.abc import AsyncIterator, Awaitable, Callable, Iterable
from typing import Any

import msgspec

from seed.simulation.journal import Journal
from seed.simulation.story import Story
from seed.simulation.wire import OK, Wire

PAGE = "500"
SIDE_BY_SIDE = 16
NOT_FOUND = 404


class NotAsAsked(Exception):
    """The service did not answer a question of the checks."""

    def __init__(self, path: str, status: int) -> None:
        self.status = status
        super().__init__(f"{path}: answered with {status}")


class Stated(msgspec.Struct, frozen=True, kw_only=True):
    """What is to be verified: the story, what devices were told, and where the log stood before.

    `alone` says that nobody else posts to the organisation.
    """

    story: Story
    journal: Journal
    before: int
    alone: bool


class Found(msgspec.Struct, frozen=True, kw_only=True):
    """What a check looked at, how much of it, and what differs."""

    what: str
    count: int
    differences: tuple[str, ...] = ()


class Asking:
    """Asks the service with a key that may read everything."""

    def __init__(self, wire: Wire, key: str) -> None:
        self._wire, self._key = wire, key

    async def get(self, path: str, **asked: str) -> dict[str, Any]:
        """Ask a question. Raises NotAsAsked."""
        answer = await self._wire.get(path, self._key, **asked)
        if answer.status_code != OK:
            raise NotAsAsked(path, answer.status_code)
        return msgspec.json.decode(answer.content, type=dict[str, Any])

    async def unit(self, tag: str, **asked: str) -> dict[str, Any] | None:
        """Ask for a unit; None where it is not there. Raises NotAsAsked."""
        try:
            return await self.get(f"/v1/assets/{tag}", **asked)
        except NotAsAsked as failure:
            if failure.status == NOT_FOUND:
                return None
            raise

    async def pages(self, path: str, **asked: str) -> AsyncIterator[dict[str, Any]]:
        """Read a list page by page, up to its end or as far as there is anything yet."""
        page = await self.get(path, limit=PAGE, **asked)
        yield page
        while page["next"] is not None and page.get("more", True):
            page = await self.get(path, limit=PAGE, **(asked | {"after": page["next"]}))
            yield page


async def each(things: Iterable[str], ask: Callable[[str], Awaitable[list[str]]]) -> tuple[str, ...]:
    """Ask about each thing, some of them side by side; give all differences in the order of the things."""
    every, found = list(things), dict[str, list[str]]()
    left = iter(every)

    async def some() -> None:
        for one in left:
            found[one] = await ask(one)

    await asyncio.gather(*(some() for _ in range(SIDE_BY_SIDE)))
    return tuple(difference for one in every for difference in found[one])
