"""More processes that serve beside this one, on the same listening socket.

Each ends by itself when this process is gone, however it went: its standard input is a pipe that only this one holds.
"""

import asyncio
import os
import socket
import sys
from collections.abc import AsyncIterator, Mapping
from contextlib import asynccontextmanager
from typing import TextIO

import structlog

AGAIN_AFTER_SECONDS = 1.0
"""How long a process that ended by itself is waited with, lest one that cannot start is started without pause."""


@asynccontextmanager
async def workers(
    count: int, door: socket.socket, environment: Mapping[str, str], log: TextIO, *, drain_seconds: int
) -> AsyncIterator[None]:
    """Keep `count` more processes serving on the door; at the end let each answer what it has begun."""
    keepers = [asyncio.create_task(_kept(door, environment, log, drain_seconds)) for _ in range(count)]
    try:
        yield
    finally:
        for keeper in keepers:
            keeper.cancel()
        await asyncio.gather(*keepers, return_exceptions=True)


async def _kept(door: socket.socket, environment: Mapping[str, str], log: TextIO, drain_seconds: int) -> None:
    """Start one process, and again whenever it ends."""
    while True:
        child = await asyncio.create_subprocess_exec(
            *(sys.executable, "-m", "service", "serve", "--door", str(door.fileno())),
            stdin=asyncio.subprocess.PIPE,
            stdout=log,
            stderr=log,
            env={**os.environ, **environment},
            pass_fds=[door.fileno()],
        )
        try:
            code = await child.wait()
        except asyncio.CancelledError:
            await _let_go(child, drain_seconds)
            raise
        structlog.get_logger().warning("worker_ended", pid=child.pid, code=code)
        await asyncio.sleep(AGAIN_AFTER_SECONDS)


async def _let_go(child: asyncio.subprocess.Process, drain_seconds: int) -> None:
    """Close the pipe, which the process takes for the end; if it lingers, end it."""
    if child.stdin is not None:
        child.stdin.close()
    try:
        await asyncio.wait_for(child.wait(), drain_seconds + AGAIN_AFTER_SECONDS)
    except TimeoutError:
        child.kill()
        await child.wait()


async def left_alone() -> None:
    """Wait until the process that holds the other end of standard input is gone, or has let this one go."""
    reader = asyncio.StreamReader()
    loop = asyncio.get_running_loop()
    await loop.connect_read_pipe(lambda: asyncio.StreamReaderProtocol(reader), sys.stdin)
    await reader.read()
