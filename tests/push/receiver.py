"""A receiver of webhooks as a firm would run one: over real HTTP, with the published library that checks signatures."""

import asyncio
import json
from collections.abc import AsyncIterator, Awaitable, Callable, Mapping
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from ssl import SSLContext
from typing import Any, NamedTuple

from standardwebhooks import Webhook


class Got(NamedTuple):
    """A message that came: its request line, its headers by lower-case name, and its body."""

    line: str
    headers: Mapping[str, str]
    body: bytes

    @property
    def event(self) -> dict[str, Any]:
        """Read what it says."""
        return dict(json.loads(self.body))

    def verified(self, secret: str) -> dict[str, Any]:
        """Read what it says once the published library has found a signature of the secret."""
        return dict(Webhook(secret).verify(self.body, dict(self.headers)))


Answer = Callable[[Got], Awaitable[bytes]]


def status(number: int, *headers: str) -> bytes:
    """Write an answer without a body."""
    return "\r\n".join([f"HTTP/1.1 {number} Said", "Content-Length: 0", *headers, "", ""]).encode()


async def taken(_: Got) -> bytes:
    """Take whatever comes."""
    return status(204)


@dataclass
class Receiver:
    """What came, in its order; `answer` may be changed while it listens."""

    answer: Answer = taken
    port: int = 0
    got: list[Got] = field(default_factory=list)
    at_once: int = 0
    most_at_once: int = 0
    _changed: asyncio.Event = field(default_factory=asyncio.Event)

    @property
    def url(self) -> str:
        """Give the address it listens at."""
        return f"http://127.0.0.1:{self.port}/hooks?of=test"

    @property
    def seqs(self) -> list[int]:
        """Give the places in the log of what came."""
        return [got.event["data"]["seq"] for got in self.got]

    async def until(self, count: int) -> list[Got]:
        """Wait until so many have come."""
        while len(self.got) < count:
            self._changed.clear()
            await self._changed.wait()
        return self.got

    async def serve(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        """Take one message, and answer it."""
        try:
            head = (await reader.readuntil(b"\r\n\r\n")).decode().split("\r\n")
            headers = {name.lower(): text.strip() for name, _, text in (line.partition(":") for line in head[1:-2])}
            got = Got(head[0], headers, await reader.readexactly(int(headers["content-length"])))
            self.got.append(got)
            self.at_once += 1
            self.most_at_once = max(self.most_at_once, self.at_once)
            self._changed.set()
            try:
                writer.write(await self.answer(got))
            finally:
                self.at_once -= 1
            await writer.drain()
        except (ConnectionError, asyncio.IncompleteReadError):
            pass
        finally:
            writer.close()


@asynccontextmanager
async def receiving(answer: Answer = taken, *, tls: SSLContext | None = None) -> AsyncIterator[Receiver]:
    """Listen on a port of this machine."""
    receiver = Receiver(answer)
    server = await asyncio.start_server(receiver.serve, "127.0.0.1", 0, ssl=tls)
    receiver.port = server.sockets[0].getsockname()[1]
    try:
        yield receiver
    finally:
        server.close()
