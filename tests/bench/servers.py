"""Servers under test, each in processes of its own on a listening socket of ours; what they and the database spend."""

import asyncio
import os
import socket
import sys
from collections.abc import AsyncIterator, Iterable, Iterator, Sequence
from contextlib import asynccontextmanager
from pathlib import Path

import msgspec

from service.serving import listening

ROOT = Path(__file__).resolve().parent.parent.parent
HERTZ = os.sysconf("SC_CLK_TCK")


class Server(msgspec.Struct, frozen=True):
    """A server that answers: its port, and the processes that it consists of."""

    port: int
    pids: tuple[int, ...]


@asynccontextmanager
async def started(module: Sequence[str], environment: dict[str, str], processes: int) -> AsyncIterator[Server]:
    """Start so many processes of a module on one socket, whose number follows its name; end them afterwards."""
    with listening("127.0.0.1", 0, go_on=False) as door:
        children = [
            await asyncio.create_subprocess_exec(
                *(sys.executable, "-m", module[0], *_told(module[1:], door)),
                stdin=asyncio.subprocess.PIPE,
                stderr=asyncio.subprocess.DEVNULL,
                pass_fds=[door.fileno()],
                cwd=ROOT,
                env={**os.environ, **environment},
            )
            for _ in range(processes)
        ]
        port = door.getsockname()[1]
        try:
            await _answers(port)
            yield Server(port, tuple(child.pid for child in children))
        finally:
            for child in children:
                child.terminate()
            await asyncio.gather(*(child.wait() for child in children))


def _told(arguments: Sequence[str], door: socket.socket) -> list[str]:
    return [str(door.fileno()) if argument == "DOOR" else argument for argument in arguments]


async def _answers(port: int) -> None:
    """Wait for an answer, whatever it is: the socket takes connections before anybody serves them."""
    reader, writer = await asyncio.open_connection("127.0.0.1", port)
    writer.write(b"GET /health/live HTTP/1.1\r\nHost: 127.0.0.1\r\nConnection: close\r\n\r\n")
    await asyncio.wait_for(reader.read(), 60)
    writer.close()


def spent(pids: Iterable[int]) -> float:
    """Give the seconds of processor time that processes, and children of theirs that ended, have spent (Linux)."""
    fields = (Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split() for pid in pids)
    return sum(sum(map(int, one[11:15])) for one in fields) / HERTZ


def spent_by_all(pid: int) -> float:
    """Give what a process and all its children have spent."""
    return spent(list(_family(pid)))


def _family(pid: int) -> Iterator[int]:
    yield pid
    for child in Path(f"/proc/{pid}/task/{pid}/children").read_text().split():
        yield from _family(int(child))
