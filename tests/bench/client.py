"""A client that asks as fast as it is answered, over so many kept connections: HTTP/1.1 with as little as it takes."""

import asyncio
import re
from collections import Counter
from collections.abc import Iterator
from statistics import quantiles
from time import perf_counter
from typing import cast

import msgspec
from typing_extensions import override

LENGTH = re.compile(rb"\r\ncontent-length: *(\d+)\r\n", re.IGNORECASE)
END_OF_HEAD = b"\r\n\r\n"


class Told(msgspec.Struct, frozen=True, kw_only=True):
    """What came of a run: answers by status, seconds from the first request to the last answer, latencies in ms."""

    statuses: dict[int, int]
    seconds: float
    p50: float
    p95: float
    p99: float

    @property
    def per_second(self) -> float:
        """Give the answers in a second."""
        return sum(self.statuses.values()) / self.seconds


class _Run:
    """Requests still to send, and what was answered so far."""

    def __init__(self, requests: Iterator[bytes]) -> None:
        self.requests = requests
        self.statuses: Counter[int] = Counter()
        self.latencies: list[float] = []


class _Connection(asyncio.Protocol):
    """One connection: it sends its next request when the last one is answered."""

    def __init__(self, run: _Run, done: asyncio.Future[None]) -> None:
        self.run, self.done = run, done
        self.buffer = b""
        self.sent_at = 0.0
        self.transport: asyncio.Transport

    @override
    def connection_made(self, transport: asyncio.BaseTransport) -> None:
        self.transport = cast("asyncio.Transport", transport)  # uvloop's is none by inheritance
        self._next()

    @override
    def data_received(self, data: bytes) -> None:
        self.buffer += data
        head = self.buffer.find(END_OF_HEAD)
        found = None if head < 0 else LENGTH.search(self.buffer, 0, head + 2)
        if found is None or len(self.buffer) < head + len(END_OF_HEAD) + int(found[1]):
            return
        self.run.latencies.append(perf_counter() - self.sent_at)
        self.run.statuses[int(self.buffer[9:12])] += 1
        self.buffer = b""
        self._next()

    @override
    def connection_lost(self, exc: Exception | None) -> None:
        if not self.done.done():
            self.done.set_exception(exc or ConnectionError("the server hung up"))

    def _next(self) -> None:
        request = next(self.run.requests, None)
        if request is None:
            self.done.set_result(None)
            self.transport.close()
            return
        self.sent_at = perf_counter()
        self.transport.write(request)


def request(key: str, body: bytes, path: str = "/v1/events", media: str = "application/json") -> bytes:
    """Write a POST as it goes over the wire."""
    head = (
        f"POST {path} HTTP/1.1\r\nHost: 127.0.0.1\r\nAuthorization: Bearer {key}\r\nContent-Type: {media}\r\n"
        f"Content-Length: {len(body)}\r\n\r\n"
    )
    return head.encode() + body


async def asked(port: int, requests: Iterator[bytes], connections: int) -> Told:
    """Send requests over so many connections, each as soon as the one before it is answered there."""
    loop, run = asyncio.get_running_loop(), _Run(requests)
    ends = [loop.create_future() for _ in range(connections)]
    began = perf_counter()
    for end in ends:
        await loop.create_connection(lambda end=end: _Connection(run, end), "127.0.0.1", port)  # type: ignore[misc]
    await asyncio.gather(*ends)
    seconds = perf_counter() - began
    cuts = quantiles(run.latencies, n=100)
    return Told(
        statuses=dict(run.statuses), seconds=seconds, p50=cuts[49] * 1e3, p95=cuts[94] * 1e3, p99=cuts[98] * 1e3
    )
