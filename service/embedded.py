"""The PostgreSQL that comes with the package: made, started, adopted and stopped without help from the system.

Only the binaries are taken. A folder of data holds

    lock               held by the one process that owns the server
    password           of the superuser, mode 0600
    server.json        which process serves the folder, and where it listens
    postgres/          PostgreSQL's own data; `elsewhere` names it when root had to put it outside a closed folder
    postgres.log       what the server said, mode 0600

The server is a child in a session of its own, so that Ctrl-C on the terminal reaches the program and not the
database. Passwords are SCRAM, the socket stands in a fresh folder that only its user may enter, and no permission of
anything made by others is changed. fsync, synchronous_commit and full_page_writes stay on.
"""

import os
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from urllib.parse import quote, urlencode

import msgspec

from service import lock, processes
from service.embedded_account import Account, give, run_as, unprivileged
from service.embedded_binaries import SUFFIX, binaries
from service.embedded_cluster import Say, cluster, environment, make_room, private
from service.embedded_failures import Busy, Foreign, NotStarted

PORT = 5432
SMALL_SHARED_MEMORY = 256 * 2**20
"""Below this many bytes of /dev/shm parallel queries would fail to get theirs; containers often give 64 MiB."""
LONGEST_SOCKET_FOLDER = 80
"""A socket's path may have 103 bytes (macOS) or 107 (Linux); PostgreSQL adds `/.s.PGSQL.5432.lock`."""
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


def quiet(_: str) -> None:
    """Say nothing."""


@contextmanager
def postgres(data: Path, *, say: Say = quiet, sync: bool = True) -> Iterator[Server]:
    """Own the server of a folder while the block runs: made when there is none, an orphan adopted, stopped at the end.

    `say` is told in a sentence what takes long; `sync` is that of `cluster`. Raises Busy at once when another process
    owns it, another EmbeddedFailure for anything else that keeps it from running.
    """
    account = unprivileged()
    make_room(data, account)
    try:
        with lock.hold(data / "lock"):
            folder = cluster(data, account, say=say, sync=sync)
            server = _adopt(data, folder, say) or _start(data, folder, account)
            try:
                _wait_until_ready(data, server, say)
                yield server
            finally:
                _stop(server, say)
    except lock.Held as held:
        raise Busy(data) from held


def running(data: Path) -> Server | None:
    """Give the server that a process of this program keeps, or a killed one left, running on the folder."""
    noted = _noted(data)
    return noted if noted and _alive(noted) else None


def _noted(data: Path) -> Server | None:
    """Read the note of the last start."""
    try:
        return msgspec.json.decode((data / "server.json").read_bytes(), type=Server)
    except (FileNotFoundError, msgspec.DecodeError):
        return None


def _note(data: Path, server: Server) -> Server:
    """Write the note, whole or not at all."""
    fresh = data / "server.json.new"
    fresh.write_bytes(msgspec.json.encode(server))
    fresh.replace(data / "server.json")
    return server


def _adopt(data: Path, folder: Path, say: Say) -> Server | None:
    """Take over the server that a killed process left behind, after checking process, folder and start time.

    Raises Foreign when a server runs there that this program did not start.
    """
    written = _written(folder)
    pid = int(written[0]) if written else 0
    birth = processes.birth(pid) if pid else None
    if birth is None:
        return None  # nobody, or a dead one: PostgreSQL clears that away itself, after looking for its shared memory
    noted = _noted(data)
    if noted and noted.folder == str(folder) and _is_ours(noted, pid, birth, socket_folder=written[4]):
        say("Taking over the PostgreSQL that an earlier run left behind.")
        return _note(data, msgspec.structs.replace(noted, pid=pid, birth=birth))
    if not processes.works_in(folder):
        # the number belongs to a stranger and nobody works in the folder: without this no start after the restart of
        # a container, where numbers repeat
        (folder / "postmaster.pid").unlink()
        return None
    raise Foreign(folder, pid)


def _is_ours(noted: Server, pid: int, birth: str, *, socket_folder: str) -> bool:
    """Compare the note with the process; a start killed before it noted the birth is known by its socket folder."""
    if noted.pid:
        return (noted.pid, noted.birth) == (pid, birth)
    return noted.host == socket_folder


def _written(folder: Path) -> list[str]:
    """Read the server's own note: pid, folder, start, port, socket folder, address, shared memory, state."""
    try:
        lines = (folder / "postmaster.pid").read_text(encoding="utf-8").split("\n")
    except FileNotFoundError:
        return []
    return [line.strip() for line in lines] + [""] * (8 - len(lines))


def _start(data: Path, folder: Path, account: Account | None) -> Server:
    """Start the server; it is noted before and after, so that it can be adopted whenever this process is killed."""
    before = _noted(data)
    if before:
        _remove_socket(before)
    host, port, listening = _listening(account)
    planned = _note(data, Server(pid=0, birth="", folder=str(folder), host=host, port=port))
    with os.fdopen(private(data / "postgres.log", os.O_TRUNC), "wb") as log:
        child = subprocess.Popen(
            [str(binaries(account) / f"postgres{SUFFIX}"), "-D", str(folder), *listening, *_shared_memory()],
            stdin=subprocess.DEVNULL,
            stdout=log,
            stderr=log,
            cwd="/",
            env=environment(),
            start_new_session=True,
            **run_as(account),
        )
    child.returncode = 0  # `_alive` collects it: adopted or not, one way to wait
    return _note(data, msgspec.structs.replace(planned, pid=child.pid, birth=processes.birth(child.pid) or ""))


def _listening(account: Account | None) -> tuple[str, int, list[str]]:
    """Choose where to listen: a socket in a fresh folder, on Windows a free port of the loopback."""
    if sys.platform == "win32":
        with socket.create_server(("127.0.0.1", 0)) as free:
            port = int(free.getsockname()[1])
        return "127.0.0.1", port, ["-c", "listen_addresses=127.0.0.1", "-c", f"port={port}"]
    parent = tempfile.gettempdir()
    if len(os.fsencode(parent)) > LONGEST_SOCKET_FOLDER or set(parent) & set(', "\\'):
        parent = "/tmp"  # noqa: S108 - a folder of mode 0700 is made in it; the name must be short and plain
    folder = Path(tempfile.mkdtemp(dir=parent, prefix="rl-"))
    give(folder, account)
    return str(folder), PORT, ["-k", str(folder), "-c", "listen_addresses=", "-c", f"port={PORT}"]


def _shared_memory() -> list[str]:
    """Keep PostgreSQL's shared memory out of a /dev/shm that is too small for it."""
    place = Path("/dev/shm")  # noqa: S108 - only measured
    if sys.platform == "win32" or not place.exists() or shutil.disk_usage(place).free >= SMALL_SHARED_MEMORY:
        return []
    return ["-c", "dynamic_shared_memory_type=mmap"]


def _wait_until_ready(data: Path, server: Server, say: Say) -> None:
    """Wait until the server takes connections, however long it recovers; raises NotStarted when it ends instead."""
    for _ in _looks(server, say, "PostgreSQL is recovering"):
        written = _written(Path(server.folder))
        if written and written[0] == str(server.pid) and written[7] == "ready":
            return
    raise NotStarted("postgres", (data / "postgres.log").read_text(errors="replace"))


def _stop(server: Server, say: Say) -> None:
    """Let the server end its sessions and write all out; Ctrl-C meanwhile stops it at once, and it recovers later."""
    _ask_to_stop(server, "fast")
    try:
        for _ in _looks(server, say, "PostgreSQL is writing its data out"):
            pass
    except KeyboardInterrupt:
        _ask_to_stop(server, "immediate")
        raise
    finally:
        _remove_socket(server)


def _looks(server: Server, say: Say, why: str) -> Iterator[None]:
    """Come round every few milliseconds as long as the server lives, and tell a waiting person why."""
    begun = told = time.monotonic()
    while _alive(server):
        yield
        if time.monotonic() - told > SILENCE:
            told = time.monotonic()
            say(f"{why} ({told - begun:.0f} s).")
        time.sleep(PAUSE)


def _alive(server: Server) -> bool:
    """Say whether the server still runs; collects it when it was our child."""
    if sys.platform != "win32" and server.pid:
        with suppress(ChildProcessError):
            os.waitpid(server.pid, os.WNOHANG)
    return bool(server.pid) and processes.birth(server.pid) == server.birth


def _ask_to_stop(server: Server, mode: str) -> None:
    """Ask the server to stop: `fast` ends its sessions, `immediate` is as if it were killed."""
    if not _alive(server):
        return
    if sys.platform == "win32":
        control = str(binaries(None) / f"pg_ctl{SUFFIX}")
        subprocess.run([control, "stop", "-D", server.folder, "-m", mode, "--no-wait"], check=False)
    else:
        os.kill(server.pid, signal.SIGINT if mode == "fast" else signal.SIGQUIT)


def _remove_socket(server: Server) -> None:
    """Remove the folder the socket stood in."""
    if sys.platform != "win32" and not _alive(server):
        shutil.rmtree(server.host, ignore_errors=True)
