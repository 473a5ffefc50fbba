import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

import pytest
from typing_extensions import override

from tests.bench.client import request
from tests.bench.connection import Connection
from tests.bench.on_schedule import Scheduled, asked_on_schedule

CREATED = b"HTTP/1.1 201 Created\r\nContent-Length: 2\r\n\r\n{}"


class Wire(asyncio.Transport):
    """Keeps what is written."""

    def __init__(self) -> None:
        super().__init__()
        self.written: list[bytes] = []

    @override
    def write(self, data: bytes | bytearray | memoryview) -> None:
        self.written.append(bytes(data))


async def test_a_busy_connection_makes_a_request_late_not_unsent() -> None:
    """What finds no connection free is sent on the next one, and its latency counts from the time it was set for."""
    run, wire = Scheduled(3), Wire()
    connection = Connection(run)
    connection.connection_made(wire)
    run.begin([b"first", b"second", b"third"], at=10.0, every=0.5)
    assert run.send_until(10.6) == 11.0
    assert (wire.written, connection.since) == ([b"first"], 10.0)
    connection.data_received(CREATED)
    assert (wire.written, connection.since) == ([b"first", b"second"], 10.5)
    connection.data_received(CREATED)
    assert run.send_until(10.9) == 11.0
    assert run.send_until(11.0) is None
    assert (wire.written, connection.since) == ([b"first", b"second", b"third"], 11.0)
    assert not run.done.done()
    connection.data_received(CREATED)
    assert run.done.done()
    assert run.statuses == {201: 3}


async def test_all_that_was_set_is_sent() -> None:
    """A server that answers is asked as often as was set, over fewer connections than requests."""
    async with answering(hang_up_after=40) as port:
        told = await asked_on_schedule(port, iter([request("none", b"{}")] * 40), 4, 2000.0)
    assert told.statuses == {201: 40}


async def test_a_server_that_hangs_up_is_no_success() -> None:
    """A run fails where a server hangs up before all is answered."""
    async with answering(hang_up_after=10) as port:
        with pytest.raises(ConnectionError):
            await asked_on_schedule(port, iter([request("none", b"{}")] * 40), 4, 2000.0)


@asynccontextmanager
async def answering(hang_up_after: int) -> AsyncIterator[int]:
    """Answer so many requests on a port, then hang up."""
    answered = 0

    async def answer(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        nonlocal answered
        while answered < hang_up_after and await reader.read(4096):
            answered += 1
            writer.write(CREATED)
        writer.close()

    async with await asyncio.start_server(answer, "127.0.0.1", 0) as server:
        yield server.sockets[0].getsockname()[1]
