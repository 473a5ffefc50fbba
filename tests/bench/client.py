"""A client that asks as fast as it is answered, over so many kept connections."""

import asyncio
from collections.abc import AsyncIterator, Iterator, Sequence
from contextlib import asynccontextmanager
from statistics import quantiles
from time import perf_counter

import msgspec
from typing_extensions import override

from tests.bench.connection import Connection, Run


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


class _Eager(Run):
    """Requests that are sent as soon as a connection is free."""

    def __init__(self, requests: Sequence[bytes]) -> None:
        super().__init__(len(requests))
        self.requests = iter(requests)

    @override
    def free(self, connection: Connection) -> None:
        request = next(self.requests, None)
        if request is not None:
            connection.send(request, perf_counter())


def request(key: str, body: bytes, path: str = "/v1/events", media: str = "application/json") -> bytes:
    """Write a POST as it goes over the wire."""
    head = (
        f"POST {path} HTTP/1.1\r\nHost: 127.0.0.1\r\nAuthorization: Bearer {key}\r\nContent-Type: {media}\r\n"
        f"Content-Length: {len(body)}\r\n\r\n"
    )
    return head.encode() + body


async def asked(port: int, requests: Iterator[bytes], connections: int) -> Told:
    """Send requests over so many connections, each as soon as the one before it is answered there."""
    run = _Eager(list(requests))
    began = perf_counter()
    async with connected(port, run, connections):
        await run.done
        return told(run, began)


@asynccontextmanager
async def connected(port: int, run: Run, connections: int) -> AsyncIterator[None]:
    """Open so many connections for a run, and have them closed after it."""
    loop, opened = asyncio.get_running_loop(), list[Connection]()
    try:
        for _ in range(connections):
            opened.append((await loop.create_connection(lambda: Connection(run), "127.0.0.1", port))[1])
        yield
    finally:
        for connection in opened:
            connection.transport.close()
        await asyncio.gather(*(connection.closed for connection in opened))


def told(run: Run, began: float) -> Told:
    """Tell of a run that is over."""
    seconds = perf_counter() - began
    cuts = quantiles(run.latencies, n=100)
    return Told(
        statuses=dict(run.statuses), seconds=seconds, p50=cuts[49] * 1e3, p95=cuts[94] * 1e3, p99=cuts[98] * 1e3
    )
