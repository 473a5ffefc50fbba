"""The example of an ERP as a process of its own, and what it says."""

import asyncio
import socket
import sys
from asyncio.subprocess import PIPE, STDOUT, Process
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager, suppress
from pathlib import Path

from tests.http.firm import Headers

EXAMPLE = Path(__file__).parents[2] / "deploy" / "examples" / "erp"
PATIENCE = 120
"""Seconds within which the example says what is waited for."""


class Erp:
    """A running example. What it said is kept, line by line."""

    def __init__(self, process: Process) -> None:
        self.process, self.said = process, list[str]()

    async def until(self, *words: str) -> str:
        """Read on until a line has all the words; raises AssertionError where it ends before, or says none of it."""
        assert self.process.stdout is not None
        with suppress(TimeoutError):
            async with asyncio.timeout(PATIENCE):
                while line := (await self.process.stdout.readline()).decode().rstrip("\n"):
                    self.said.append(line)
                    if all(word in line for word in words):
                        return line
        raise AssertionError(self.said)

    async def kill(self) -> None:
        """Kill it, wherever it is."""
        if self.process.returncode is None:
            self.process.kill()
        await self.process.wait()


@asynccontextmanager
async def running(service: str, keys: dict[str, Headers], books: Path, port: int, *more: str) -> AsyncIterator[Erp]:
    """Give a running example with keys by role; it is killed at the end."""
    given = [part for role, key in keys.items() for part in (f"--{role}", key["authorization"].removeprefix("Bearer "))]
    asked = ["--service", service, "--books", str(books), "--port", str(port), *given, *more]
    erp = Erp(await asyncio.create_subprocess_exec(sys.executable, EXAMPLE, *asked, stdout=PIPE, stderr=STDOUT))
    try:
        yield erp
    finally:
        await erp.kill()


def free_port() -> int:
    """Give a port that nobody listens at."""
    with socket.socket() as door:
        door.bind(("127.0.0.1", 0))
        return int(door.getsockname()[1])
