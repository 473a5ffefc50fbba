"""Clients that hang up while they wait: what they wait for is dropped, so that their place is free."""

import asyncio
from collections.abc import Coroutine
from typing import Any, TypeVar

from service.http.request import Asked

T = TypeVar("T")


async def unless_hung_up(request: Asked, work: Coroutine[Any, Any, T]) -> T | None:
    """Do what a client waits for; None where it hangs up first."""
    working, watching = asyncio.create_task(work), asyncio.create_task(_hung_up(request))
    try:
        await asyncio.wait({working, watching}, return_when=asyncio.FIRST_COMPLETED)
        return working.result() if working.done() else None
    finally:
        for task in (working, watching):
            task.cancel()
        await asyncio.gather(working, watching, return_exceptions=True)


async def _hung_up(request: Asked) -> None:
    while (await request.receive())["type"] != "http.disconnect":
        pass
