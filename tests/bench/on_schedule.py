"""A client that sends at set times, whatever is answered, as many senders do that know nothing of each other.

A request that finds every connection busy waits for the next free one, and its latency counts from the time it was set
for: a server that falls behind is told so.
"""

import asyncio
from collections import deque
from collections.abc import Iterator, Sequence
from time import perf_counter

from typing_extensions import override

from tests.bench.client import Told, connected, told
from tests.bench.connection import Connection, Run

TICK = 0.001
"""The loop's timers tell milliseconds (s)."""


class Scheduled(Run):
    """So many requests, whose moments are set once the connections are open."""

    def __init__(self, count: int) -> None:
        super().__init__(count)
        self.to_come: deque[tuple[float, bytes]] = deque()
        self.waiting: deque[tuple[float, bytes]] = deque()
        self.idle: deque[Connection] = deque()

    def begin(self, requests: Sequence[bytes], *, at: float, every: float) -> None:
        """Set the first request for a moment, and each other so much later than the one before it (s)."""
        self.to_come.extend((at + every * place, request) for place, request in enumerate(requests))

    @override
    def free(self, connection: Connection) -> None:
        if self.waiting:
            since, request = self.waiting.popleft()
            connection.send(request, since)
        else:
            self.idle.append(connection)

    def send_until(self, now: float) -> float | None:
        """Send what is due, as far as there are connections, and give the moment of what comes next."""
        while self.to_come and self.to_come[0][0] <= now:
            self.waiting.append(self.to_come.popleft())
        while self.waiting and self.idle:
            self.free(self.idle.popleft())
        return self.to_come[0][0] if self.to_come else None


async def asked_on_schedule(port: int, requests: Iterator[bytes], connections: int, rate: float) -> Told:
    """Send so many requests a second over so many connections, and wait until all are answered."""
    every = list(requests)
    run = Scheduled(len(every))
    async with connected(port, run, connections):
        began = perf_counter()
        run.begin(every, at=began, every=1 / rate)
        _send(run)
        await run.done
        return told(run, began)


def _send(run: Scheduled) -> None:
    """Send each request when its moment comes."""
    coming = run.send_until(perf_counter())
    if coming is not None:
        asyncio.get_running_loop().call_later(max(coming - perf_counter(), TICK), _send, run)
