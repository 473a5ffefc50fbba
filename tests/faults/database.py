"""A packaged PostgreSQL that can be killed, and comes back where it was."""

import os
import signal
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import LiteralString, NamedTuple
from urllib.parse import quote

import psutil
import psycopg

from service.embedded import PORT, launched
from service.embedded_account import Account, give, unprivileged
from service.embedded_binaries import binaries
from service.embedded_cluster import SUPERUSER, cluster, make_room, password
from service.embedded_server import Server, becomes_ready, stop
from service.migrating import migrate
from tests.databases.clone import PASSWORD, Database, empty
from tests.databases.cluster import Cluster

TRANSACTIONS = """
SELECT count(*) FROM pg_stat_activity WHERE application_name = 'respirator-ledger' AND xact_start IS NOT NULL
"""


class Postgres:
    """A server of a folder of its own, always at the same address."""

    def __init__(self, room: Path, data: Path | None = None) -> None:
        """Make an empty one; `data` is where its files go, if elsewhere than beside its socket."""
        self.account: Account | None = unprivileged()
        self.room, self.data = room, data or room / "data"
        make_room(self.data, self.account)
        self.folder = cluster(self.data, self.account, say=_quiet, sync=False)
        self.socket = room / "socket"
        self.socket.mkdir(mode=0o700)
        give(self.socket, self.account)
        self.server: Server | None = None

    @property
    def url(self) -> str:
        """Give the address for its administrator."""
        return self._planned.url("postgres", SUPERUSER, password(self.data))

    @property
    def _planned(self) -> Server:
        return Server(pid=0, birth="", folder=str(self.folder), host=str(self.socket), port=PORT)

    def start(self) -> None:
        """Start it, and wait until it has recovered."""
        listening = ["-k", str(self.socket), "-c", "listen_addresses="]
        with (self.room / "postgres.log").open("ab") as log:
            self.server = launched(self._planned, self.account, listening, log)
        assert becomes_ready(self.server, _quiet), (self.room / "postgres.log").read_text(errors="replace")

    def kill(self) -> None:
        """Kill every process of it at once: nothing is written out, nobody is told."""
        assert self.server is not None
        head = psutil.Process(self.server.pid)
        every = [head.pid, *(child.pid for child in head.children(recursive=True))]
        for pid in every:
            with suppress(ProcessLookupError):
                os.kill(pid, signal.SIGKILL)
        os.waitpid(head.pid, 0)
        self.server = None

    def transactions(self) -> int:
        """Count the transactions of the service that are going on."""
        with psycopg.connect(self.url) as conn:
            row = conn.execute(TRANSACTIONS).fetchone()
        return 0 if row is None else int(row[0])


@contextmanager
def room() -> Iterator[Path]:
    """Give a folder with a name short enough for sockets, which an account without rights may pass through."""
    with tempfile.TemporaryDirectory(prefix="rl-", dir="/tmp") as name:
        Path(name).chmod(0o711)
        yield Path(name)


@contextmanager
def packaged(data: Path | None = None) -> Iterator[Postgres]:
    """Give a running server; it is stopped at the end, if it runs then."""
    with room() as place:
        server = Postgres(place, data)
        try:
            server.start()
            yield server
        finally:
            if server.server is not None:
                stop(server.server, _quiet)


class Standby(NamedTuple):
    """A hot standby of a server: a replica that may lag."""

    primary: Postgres
    socket: Path

    def at(self, url: str) -> str:
        """Give the address of a database of the primary here."""
        return url.replace(quote(str(self.primary.socket), safe=""), quote(str(self.socket), safe=""))

    def tell(self, what: LiteralString, *said: object) -> object:
        """Have its administrator do something, and give what it says."""
        return _said(self.at(self.primary.url), what, *said)

    def pause(self) -> None:
        """Have it lag behind from now on."""
        self.tell("SELECT pg_wal_replay_pause()")
        while self.tell("SELECT pg_get_wal_replay_pause_state()") != "paused":
            pass

    def go_on(self) -> None:
        """Have it follow again."""
        self.tell("SELECT pg_wal_replay_resume()")

    def catch_up(self) -> None:
        """Wait until it holds what the primary holds now."""
        there = _said(self.primary.url, "SELECT pg_current_wal_lsn()")
        while self.tell("SELECT pg_last_wal_replay_lsn() < %s::pg_lsn", there):
            pass


def _said(url: str, what: LiteralString, *said: object) -> object:
    """Ask one thing of a server."""
    with psycopg.connect(url, autocommit=True) as conn:
        row = conn.execute(what, said).fetchone()
    return None if row is None else row[0]


@contextmanager
def standby(primary: Postgres) -> Iterator[Standby]:
    """Give a running hot standby."""
    data, here = primary.room / "standby", primary.room / "replica"
    asks = ["-h", str(primary.socket), "-U", SUPERUSER, "-D", str(data), "-c", "fast", "-R", "--no-sync"]
    program, account = binaries(primary.account) / "pg_basebackup", primary.account
    subprocess.run([program, *asks], env={**os.environ, "PGPASSWORD": password(primary.data)}, check=True)
    here.mkdir(mode=0o700)
    for path in (here, data, *data.rglob("*")):
        give(path, account)
    planned = Server(pid=0, birth="", folder=str(data), host=str(here), port=PORT)
    with (primary.room / "standby.log").open("ab") as log:
        server = launched(planned, account, ["-k", str(here), "-c", "listen_addresses="], log)
    try:
        assert becomes_ready(server, _quiet), (primary.room / "standby.log").read_text(errors="replace")
        yield Standby(primary, here)
    finally:
        stop(server, _quiet)


@contextmanager
def migrated(server: Postgres) -> Iterator[Database]:
    """Give a migrated database on it."""
    with empty(Cluster("packaged", server.url)) as made:
        migrate(made.owner_url, PASSWORD)
        yield made


def _quiet(_: str) -> None:
    """Say nothing."""
