"""A question about very many units lets others have their turn while it is worked out."""

import asyncio
import gc
from threading import get_ident
from weakref import ref

from service.assessing.aside import MANY, aside


async def test_what_is_of_many_is_worked_out_beside_the_loop() -> None:
    """The loop goes on meanwhile; what is of few is worked out at once."""
    loop = asyncio.get_running_loop()
    turn = asyncio.Event()

    def work() -> int:
        asyncio.run_coroutine_threadsafe(asyncio.wait_for(turned(turn), 10), loop).result()
        return get_ident()

    assert await aside(MANY, get_ident) == get_ident()
    assert await aside(MANY + 1, work) != get_ident()
    assert turn.is_set()


async def turned(turn: asyncio.Event) -> None:
    """Have a turn."""
    turn.set()


class Big:
    """Something of which it can be seen whether it is still there."""


async def test_what_was_worked_out_goes_with_whoever_asked() -> None:
    """A thread's future lies in a cycle with itself: it must not keep what it gave until cycles are looked for."""
    gc.collect()
    gc.disable()
    try:
        made = await aside(MANY + 1, Big)
        there = ref(made)
        del made
        assert there() is None
    finally:
        gc.enable()
