"""Lines gathered into chunks that are recorded together: as many as came within a moment, and no more than so many."""

import asyncio
from collections.abc import AsyncGenerator, AsyncIterator, Sequence
from typing import Final

from service.http.limits import MAX_BYTES
from service.http.lines import Line

MOST: Final = 500
"""Lines of a chunk."""
WAIT: Final = 0.05
"""Seconds that a line waits for others."""


async def chunks(coming: AsyncIterator[Sequence[Line]]) -> AsyncGenerator[list[Line], None]:
    """Gather lines; the next ones are waited for while a chunk is worked on, and taken in once there is room.

    What the coming of lines fails with is raised once all that came before is given.
    """
    loop = asyncio.get_running_loop()
    waiting: list[Line] = []
    due = None
    more = asyncio.ensure_future(anext(coming, None))
    try:
        while True:
            if not _full(waiting):
                await asyncio.wait({more}, timeout=None if due is None else due - loop.time())
            if more.done() and not _full(waiting):
                if more.exception() is not None or (came := more.result()) is None:
                    break
                if came and due is None:
                    due = loop.time() + WAIT
                waiting += came
                more = asyncio.ensure_future(anext(coming, None))
            if due is not None and (_full(waiting) or loop.time() >= due):
                chunk, waiting = waiting[:MOST], waiting[MOST:]
                due = loop.time() if waiting else None
                yield chunk
        for start in range(0, len(waiting), MOST):
            yield waiting[start : start + MOST]
        more.result()
    finally:
        more.cancel()


def _full(waiting: Sequence[Line]) -> bool:
    """Say whether no more lines should be waited for."""
    return len(waiting) >= MOST or sum(len(line.text) for line in waiting) >= MAX_BYTES
