"""Servers under test, each in processes of its own on a listening socket of ours; what they and the database spend."""

import asyncio
import os
import sys
from collections.abc import AsyncIterator, Iterable, Iterator, Sequence
from contextlib import asynccontextmanager, suppress
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
    """Start so many processes of a module on one socket, whose number stands for "DOOR"; end them afterwards."""
    with listening("127.0.0.1", 0, go_on=False) as door:
        told = [str(door.fileno()) if argument == "DOOR" else argument for argument in module]
        async with _running(told, environment, processes, [door.fileno()]) as pids:
            port = door.getsockname()[1]
            await _answers(port)
            yield Server(port, pids)


@asynccontextmanager
async def started_on_port(module: Sequence[str], environment: dict[str, str]) -> AsyncIterator[Server]:
    """Start a module that listens by itself, on a free port whose number stands for "PORT"; end it afterwards."""
    with listening("127.0.0.1", 0, go_on=False) as door:
        port = door.getsockname()[1]
    told = [str(port) if argument == "PORT" else argument for argument in module]
    async with _running(told, environment, 1, []) as pids:
        await _listens(port)
        await _answers(port)
        yield Server(port, pids)


@asynccontextmanager
async def _running(
    module: Sequence[str], environment: dict[str, str], processes: int, kept: Sequence[int]
) -> AsyncIterator[tuple[int, ...]]:
    """Start so many processes of a module, which keep some of our open files; end them afterwards."""
    children = [
        await asyncio.create_subprocess_exec(
            *(sys.executable, "-m", *module),
            stdin=asyncio.subprocess.PIPE,
            stdout=asyncio.subprocess.DEVNULL,
            stderr=asyncio.subprocess.DEVNULL,
            pass_fds=kept,
            cwd=ROOT,
            env={**os.environ, **environment},
        )
        for _ in range(processes)
    ]
    try:
        yield tuple(child.pid for child in children)
    finally:
        for child in children:
            child.terminate()
        await asyncio.gather(*(child.wait() for child in children))


async def _listens(port: int) -> None:
    """Wait until connections are taken. Raises TimeoutError after a minute."""
    async with asyncio.timeout(60):
        while True:
            try:
                _, writer = await asyncio.open_connection("127.0.0.1", port)
            except ConnectionRefusedError:
                await asyncio.sleep(0.05)
            else:
                writer.close()
                return


async def _answers(port: int) -> None:
    """Wait for an answer, whatever it is: the socket takes connections before anybody serves them."""
    reader, writer = await asyncio.open_connection("127.0.0.1", port)
    writer.write(b"GET /health/live HTTP/1.1\r\nHost: 127.0.0.1\r\nConnection: close\r\n\r\n")
    await asyncio.wait_for(reader.read(), 60)
    writer.close()


def spent_by_all(pids: Iterable[int]) -> float:
    """Give the seconds of processor time that processes and all their children, ended ones too, have spent (Linux)."""
    return sum(_spent(one) for pid in pids for one in reversed([*_family(pid)]))


def _spent(pid: int) -> float:
    """Give what a process and its children that ended have spent; nothing if it ended, since its parent tells that.

    So children are to be asked before their parent.
    """
    with suppress(FileNotFoundError, ProcessLookupError):
        fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
        return sum(map(int, fields[11:15])) / HERTZ
    return 0.0


def _family(pid: int) -> Iterator[int]:
    yield pid
    with suppress(FileNotFoundError, ProcessLookupError):
        for child in Path(f"/proc/{pid}/task/{pid}/children").read_text().split():
            yield from _family(int(child))
