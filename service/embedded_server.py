"""A running server of the packaged PostgreSQL: where it listens, whether it lives, how it is waited for and stopped."""

import os
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from urllib.parse import quote, urlencode

import msgspec

from service import processes
from service.embedded_binaries import SUFFIX, binaries
from service.embedded_cluster import Say

PAUSE = 0.02
SILENCE = 2.0
"""Seconds between two looks at the server, and between two words to a waiting person."""


class Server(msgspec.Struct, frozen=True, kw_only=True):
    """A running server: its process, the mark of its birth, its folder, and where it listens."""

    pid: int
    birth: str
    folder: str
    host: str
    port: int

    def url(self, database: str, user: str, password: str) -> str:
        """Give the connection URL of one database for one role."""
        where = urlencode({"host": self.host, "port": self.port}, quote_via=quote)
        return f"postgresql://{quote(user, safe='')}:{quote(password, safe='')}@/{quote(database, safe='')}?{where}"


def written(folder: Path) -> list[str]:
    """Read the server's own note: pid, folder, start, port, socket folder, address, shared memory, state."""
    try:
        lines = (folder / "postmaster.pid").read_text(encoding="utf-8").split("\n")
    except FileNotFoundError:
        return []
    return [line.strip() for line in lines] + [""] * (8 - len(lines))


def becomes_ready(server: Server, say: Say) -> bool:
    """Wait until the server takes connections, however long it recovers; False when it ends instead."""
    for _ in _looks(server, say, "PostgreSQL is recovering"):
        note = written(Path(server.folder))
        if note and note[0] == str(server.pid) and note[7] == "ready":
            return True
    return False


def stop(server: Server, say: Say) -> None:
    """Let the server end its sessions and write all out; Ctrl-C meanwhile stops it at once, and it recovers later."""
    ask_to_stop(server, "fast")
    try:
        _wait_for_the_end(server, say)
    except KeyboardInterrupt:
        ask_to_stop(server, "immediate")
        _wait_for_the_end(server, say)
        raise
    finally:
        remove_socket(server)


def _wait_for_the_end(server: Server, say: Say) -> None:
    """Wait until the server has ended."""
    for _ in _looks(server, say, "PostgreSQL is writing its data out"):
        pass


def _looks(server: Server, say: Say, why: str) -> Iterator[None]:
    """Come round every few milliseconds as long as the server lives, and tell a waiting person why."""
    begun = told = time.monotonic()
    while alive(server):
        yield
        if time.monotonic() - told > SILENCE:
            told = time.monotonic()
            say(f"{why} ({told - begun:.0f} s).")
        time.sleep(PAUSE)


def alive(server: Server) -> bool:
    """Say whether the server still runs; collects it when it was our child."""
    if sys.platform != "win32" and server.pid:
        with suppress(ChildProcessError):
            os.waitpid(server.pid, os.WNOHANG)
    return bool(server.pid) and processes.birth(server.pid) == server.birth


def ask_to_stop(server: Server, mode: str) -> None:
    """Ask the server to stop: `fast` ends its sessions, `immediate` is as if it were killed."""
    if not alive(server):
        return
    if sys.platform == "win32":
        control = str(binaries(None) / f"pg_ctl{SUFFIX}")
        subprocess.run([control, "stop", "-D", server.folder, "-m", mode, "--no-wait"], check=False)
    else:
        os.kill(server.pid, signal.SIGINT if mode == "fast" else signal.SIGQUIT)


def remove_socket(server: Server) -> None:
    """Remove the folder the socket stood in."""
    if sys.platform != "win32" and not alive(server):
        shutil.rmtree(server.host, ignore_errors=True)
