"""Aside: what takes long is worked out in a thread, so that whoever else asks is answered meanwhile."""

import asyncio
from collections.abc import Callable, Iterable, Iterator
from itertools import islice
from typing import Final, TypeVar

Made = TypeVar("Made")

MANY: Final = 1000
"""Of no more rows or units nobody notices the wait."""


async def aside(many: int, work: Callable[[], Made]) -> Made:
    """Work it out, in a thread where it is of many rows or units; it changes nothing that others read but memos."""
    if many <= MANY:
        return work()
    made: list[Made] = []
    await asyncio.to_thread(lambda: made.append(work()))  # the future of a thread holds itself, and so what it gives
    return made.pop()


def pages(every: Iterable[Made], size: int) -> Iterator[list[Made]]:
    """Cut what there is into pages: of so much is asked, or something made, at a time."""
    left = iter(every)
    while page := [*islice(left, size)]:
        yield page
