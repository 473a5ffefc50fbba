"""What waits to be sent to a client that may be slow to read, or never read at all: so much of it, and no more."""

import asyncio
from collections.abc import AsyncIterator
from typing import Final

MAX_WAITING: Final = 1024 * 1024
"""Bytes that wait for a client; past that, lines are dropped until it has read some."""
PIECE: Final = 64 * 1024
"""Bytes that are sent at once, so that few lie with the server that were taken from here."""


class Outbox:
    """Lines go in at one end, whoever reads them or not; pieces come out at the other."""

    def __init__(self) -> None:
        self.dropped = 0
        self._waiting = bytearray()
        self._closed = False
        self._news = asyncio.Event()

    def put(self, line: bytes) -> None:
        """Have a line sent, or drop it."""
        if len(self._waiting) + len(line) > MAX_WAITING:
            self.dropped += 1
        else:
            self._waiting += line
            self._news.set()

    def close(self, last: bytes) -> None:
        """Have a last line sent, whatever waits."""
        self._waiting += last
        self._closed = True
        self._news.set()

    async def pieces(self) -> AsyncIterator[bytes]:
        """Give what is to be sent, as it comes, until the last line is out."""
        while self._waiting or not self._closed:
            await self._news.wait()
            piece = bytes(self._waiting[:PIECE])
            del self._waiting[:PIECE]
            if not self._waiting and not self._closed:
                self._news.clear()
            if piece:
                yield piece
