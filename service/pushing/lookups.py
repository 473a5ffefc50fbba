"""Look-ups of names, each in a thread of its own.

The system's resolver blocks for as long as a name's servers say nothing, and nobody can end it. The loop's own executor
has a handful of threads, which folds and the driver of the database need; so look-ups have none of them, and their
threads are such that the end of the process waits for none. A look-up keeps its place until its thread has ended,
whoever has given up on it: no names hold more than an organisation's share.
"""

import asyncio
import socket
from collections.abc import Callable
from contextlib import suppress
from functools import partial
from threading import Thread
from typing import Final
from uuid import UUID

from service.pushing.places import Places

AT_ONCE: Final = 64
"""How many names a process looks up at the same time."""
OF_ONE: Final = 4
"""How many of them are one organisation's."""


class Lookups:
    """The look-ups of this process."""

    def __init__(self) -> None:
        self._places = Places(AT_ONCE, OF_ONE)

    async def addresses(self, organisation: UUID, host: str, port: int) -> list[str]:
        """Ask the system for the addresses of a host, on behalf of an organisation. Raises OSError and UnicodeError."""
        found: asyncio.Future[list[str]] = asyncio.get_running_loop().create_future()

        def ended(_: object) -> None:
            found.exception()  # looked at here, since whoever asked may have given up
            self._places.give_back(organisation)

        await self._places.take(organisation)
        found.add_done_callback(ended)
        _in_a_thread(lambda: _asked(host, port), found)
        return await asyncio.shield(found)


def _asked(host: str, port: int) -> list[str]:
    """Ask the system, which may take long."""
    found = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)
    return list(dict.fromkeys(str(address[4][0]) for address in found))


def _in_a_thread(ask: Callable[[], list[str]], found: asyncio.Future[list[str]]) -> None:
    """Have a thread ask, and tell what is answered; a loop that ended before is told nothing."""
    loop = found.get_loop()

    def run() -> None:
        try:
            tell = partial(found.set_result, ask())
        except Exception as error:  # noqa: BLE001 - whatever it is, who asked is told
            tell = partial(found.set_exception, error)
        with suppress(RuntimeError):
            loop.call_soon_threadsafe(tell)

    try:
        Thread(target=run, name="look-up", daemon=True).start()
    except RuntimeError as error:  # no more threads are to be had
        found.set_exception(error)
