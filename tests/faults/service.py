"""A process that serves, which can be killed and started again at the same address."""

import os
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import msgspec

from service.serving import listening

ROOT = Path(__file__).parents[2]


class Service:
    """A serving process on a listening socket of ours: who connects while it is away waits for the next one."""

    def __init__(self, door: socket.socket, environment: dict[str, str], log: Path) -> None:
        self.door, self.environment, self.log = door, environment, log
        self.process: subprocess.Popen[bytes] | None = None

    @property
    def port(self) -> int:
        """Give the port it serves at."""
        return int(self.door.getsockname()[1])

    def start(self) -> None:
        """Start it."""
        with self.log.open("ab") as log:
            self.process = subprocess.Popen(
                [sys.executable, "-m", "service", "serve", "--door", str(self.door.fileno())],
                stdin=subprocess.PIPE,  # it ends by itself when we are gone
                stdout=log,
                stderr=log,
                pass_fds=[self.door.fileno()],
                cwd=ROOT,
                env={**os.environ, **self.environment},
            )

    def hold(self) -> None:
        """Stop it in the middle of whatever it does."""
        assert self.process is not None
        os.kill(self.process.pid, signal.SIGSTOP)

    def go_on(self) -> None:
        """Let it go on where it was held."""
        assert self.process is not None
        os.kill(self.process.pid, signal.SIGCONT)

    def kill(self) -> None:
        """Kill it."""
        assert self.process is not None
        self.process.kill()
        self.process.communicate()
        self.process = None

    def errors(self) -> list[str]:
        """Give the lines of its log that tell of a fault of its own."""
        lines = self.log.read_text(encoding="utf-8").splitlines()
        return [line for line in lines if msgspec.json.decode(line)["level"] in {"error", "critical"}]


@contextmanager
def serving(log: Path, environment: dict[str, str]) -> Iterator[Service]:
    """Give a serving process; it is killed at the end, if it runs then."""
    with listening("127.0.0.1", 0, go_on=False) as door:
        service = Service(door, environment, log)
        service.start()
        try:
            yield service
        finally:
            if service.process is not None:
                service.kill()
