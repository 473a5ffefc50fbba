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
import socket
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

import msgspec

from service import lock, processes
from service.embedded_account import Account, give, run_as, unprivileged
from service.embedded_binaries import SUFFIX, binaries
from service.embedded_cluster import Say, cluster, environment, make_room, private
from service.embedded_failures import Busy, Foreign, NotStarted
from service.embedded_server import Server, alive, ask_to_stop, becomes_ready, remove_socket, stop, written

PORT = 5432
SMALL_SHARED_MEMORY = 256 * 2**20
"""Below this many bytes of /dev/shm parallel queries would fail to get theirs; containers often give 64 MiB."""
LONGEST_SOCKET_FOLDER = 80
"""A socket's path may have 103 bytes (macOS) or 107 (Linux); PostgreSQL adds `/.s.PGSQL.5432.lock`."""


def quiet(_: str) -> None:
    """Say nothing."""


@contextmanager
def postgres(data: Path, *, say: Say = quiet, sync: bool = True) -> Iterator[Server]:
    """Own the server of a folder while the block runs: made when there is none, an orphan adopted, stopped at the end.

    `say` is told in a sentence what takes long; `sync` is that of `cluster`. Ctrl-C in the block stops the server as a
    crash would, and it recovers at the next start: whoever wants it stopped in peace leaves the block. Raises Busy at
    once when another process owns it, another EmbeddedFailure for anything else that keeps it from running.
    """
    account = unprivileged()
    make_room(data, account)
    try:
        with lock.hold(data / "lock"):
            server = _brought_up(data, cluster(data, account, say=say, sync=sync), account, say)
            try:
                yield server
            except KeyboardInterrupt:
                ask_to_stop(server, "immediate")
                raise
            finally:
                stop(server, say)
    except lock.Held as held:
        raise Busy(data) from held


def running(data: Path) -> Server | None:
    """Give the server that a process of this program keeps, or a killed one left, running on the folder."""
    noted = _noted(data)
    return noted if noted and alive(noted) else None


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
    note = written(folder)
    pid = int(note[0]) if note else 0
    birth = processes.birth(pid) if pid else None
    if birth is None:
        return None  # nobody, or a dead one: PostgreSQL clears that away itself, after looking for its shared memory
    noted = _noted(data)
    if noted and noted.folder == str(folder) and _is_ours(noted, pid, birth, socket_folder=note[4]):
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


def _brought_up(data: Path, folder: Path, account: Account | None, say: Say) -> Server:
    """Give a server that takes connections: the one left behind, unless it is on its way out, or a new one."""
    left = _adopt(data, folder, say)
    if left and becomes_ready(left, say):
        return left
    server = _start(data, folder, account)
    try:
        ready = becomes_ready(server, say)
    except BaseException:  # whatever stops the wait: no server is left behind
        ask_to_stop(server, "immediate")
        stop(server, say)
        raise
    if not ready:
        remove_socket(server)
        raise NotStarted("postgres", (data / "postgres.log").read_text(errors="replace"))
    return server


def _start(data: Path, folder: Path, account: Account | None) -> Server:
    """Start the server; it is noted before and after, so that it can be adopted whenever this process is killed."""
    before = _noted(data)
    if before:
        remove_socket(before)
    host, port, listening = _listening(account)
    planned = _note(data, Server(pid=0, birth="", folder=str(folder), host=host, port=port))
    with os.fdopen(private(data / "postgres.log", os.O_TRUNC), "wb") as log:
        return _note(data, launched(planned, account, listening, log))


def launched(planned: Server, account: Account | None, listening: Sequence[str], log: BinaryIO) -> Server:
    """Start a process of the server that is planned, in a session of its own; `listening` are its options for that."""
    child = subprocess.Popen(
        [str(binaries(account) / f"postgres{SUFFIX}"), "-D", planned.folder, *listening, *_shared_memory()],
        stdin=subprocess.DEVNULL,
        stdout=log,
        stderr=log,
        cwd="/",
        env=environment(),
        start_new_session=True,
        **run_as(account),
    )
    child.returncode = 0  # `alive` collects it: adopted or not, one way to wait
    return msgspec.structs.replace(planned, pid=child.pid, birth=processes.birth(child.pid) or "")


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
