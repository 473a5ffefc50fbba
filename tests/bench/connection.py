"""One kept connection of a client, HTTP/1.1 with as little as it takes, and the run of requests that it belongs to."""

import asyncio
import re
from abc import ABC, abstractmethod
from collections import Counter
from time import perf_counter
from typing import cast

from typing_extensions import override

LENGTH = re.compile(rb"\r\ncontent-length: *(\d+)\r\n", re.IGNORECASE)
END_OF_HEAD = b"\r\n\r\n"


class Run(ABC):
    """So many requests to be answered: statuses and latencies (s) of those that were, and whether that was all."""

    def __init__(self, count: int) -> None:
        self.left = count
        self.statuses: Counter[int] = Counter()
        self.latencies: list[float] = []
        self.done: asyncio.Future[None] = asyncio.get_running_loop().create_future()

    @abstractmethod
    def free(self, connection: "Connection") -> None:
        """Take notice that a connection could send, and let it if there is something to send."""

    def answered(self, connection: "Connection", status: int) -> None:
        """Count an answer."""
        self.latencies.append(perf_counter() - connection.since)
        self.statuses[status] += 1
        self.left -= 1
        if self.left:
            self.free(connection)
        elif not self.done.done():
            self.done.set_result(None)

    def lost(self, error: Exception | None) -> None:
        """Fail, since a server hung up before all was answered."""
        if not self.done.done():
            self.done.set_exception(error or ConnectionError("the server hung up"))


class Connection(asyncio.Protocol):
    """One connection: it sends a request when it is told to, and tells its run of the answer.

    `since` is the moment that the answer's latency counts from.
    """

    def __init__(self, run: Run) -> None:
        self.run = run
        self.buffer = b""
        self.since = 0.0
        self.transport: asyncio.Transport
        self.closed: asyncio.Future[None] = asyncio.get_running_loop().create_future()

    def send(self, request: bytes, since: float) -> None:
        """Send a request."""
        self.since = since
        self.transport.write(request)

    @override
    def connection_made(self, transport: asyncio.BaseTransport) -> None:
        self.transport = cast("asyncio.Transport", transport)  # uvloop's is none by inheritance
        self.run.free(self)

    @override
    def data_received(self, data: bytes) -> None:
        self.buffer += data
        head = self.buffer.find(END_OF_HEAD)
        found = None if head < 0 else LENGTH.search(self.buffer, 0, head + 2)
        if found is None or len(self.buffer) < head + len(END_OF_HEAD) + int(found[1]):
            return
        status = int(self.buffer[9:12])
        self.buffer = b""
        self.run.answered(self, status)

    @override
    def connection_lost(self, exc: Exception | None) -> None:
        self.closed.set_result(None)
        self.run.lost(exc)
