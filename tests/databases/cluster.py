"""A PostgreSQL server for one run of the tests: one given, one in a container, or the packaged one."""

import os
import shutil
import socket
import tempfile
import warnings
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import NamedTuple

import psycopg

from service.embedded import postgres
from service.embedded_cluster import SUPERUSER, password

DURABLE = ("fsync", "synchronous_commit", "full_page_writes")
IMAGE = "postgres:18"
PACKAGED = "the packaged server"
ENGINE = "/var/run/docker.sock"
"""Where an engine answers on every system that has one, unless DOCKER_HOST says otherwise."""
MEMORY = Path("/dev/shm")  # noqa: S108 - a folder of its own is made there
ROOM = 6 * 2**30
"""Bytes that must be free in memory for a server's data to be there."""


class Cluster(NamedTuple):
    """A server: what it is, the URL of a role that may make roles and databases, and whether its data is in memory."""

    name: str
    url: str
    in_memory: bool = False


class NotDurable(Exception):
    """The server would lose acknowledged commits; a test on it proves nothing about the service's promises."""


@contextmanager
def started(*, on_disk: bool = True) -> Iterator[Cluster]:
    """Give the first server to be had, checked to be durable.

    Unless it has to be on a disk, the data of the packaged one is in memory where that has room: it outlives every
    process all the same, and thousands of databases are made there in a fraction of the time.
    """
    room = None if on_disk else _memory()
    with _first(room) as (kind, url):
        with psycopg.connect(url) as connection:
            for setting in DURABLE:
                # a server of another encoding sends text as bytes, so the comparison is left to it
                row = connection.execute("SELECT current_setting(%s) = 'on'", (setting,)).fetchone()
                if row != (True,):
                    raise NotDurable(setting)
            version = connection.info.parameter_status("server_version")
        yield Cluster(f"{kind}, PostgreSQL {version}", url, kind.startswith(PACKAGED) and room is not None)


@contextmanager
def _first(room: Path | None) -> Iterator[tuple[str, str]]:
    """Give the first server to be had: what it is, and its administrator's URL."""
    given = os.environ.get("TEST_DATABASE_URL")
    with ExitStack() as stack:
        if given:
            yield "TEST_DATABASE_URL", given
        elif _engine_answers():
            yield _container(stack) or (f"{PACKAGED}, for want of a container image", _packaged(stack, room))
        else:
            yield PACKAGED, _packaged(stack, room)


def _memory() -> Path | None:
    """Give the folder of the system that is in memory, if there is one with room."""
    there = MEMORY.is_dir() and os.access(MEMORY, os.W_OK) and shutil.disk_usage(MEMORY).free >= ROOM
    return MEMORY if there else None


def _packaged(stack: ExitStack, room: Path | None) -> str:
    """Run the PostgreSQL that comes with the package, in a new folder of the room, or where temporary things are."""
    folder = Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="rl test ", dir=room)))
    folder.chmod(0o711)  # made here; as root the account PostgreSQL runs as has to pass through
    server = stack.enter_context(postgres(folder / "data", sync=False))
    return server.url("postgres", SUPERUSER, password(folder / "data"))


def _engine_answers() -> bool:
    """Ask whether a Docker engine answers; none is the usual case and no failure."""
    if "DOCKER_HOST" in os.environ:
        return True
    try:
        with socket.socket(socket.AF_UNIX) as trial:
            trial.connect(ENGINE)
    except OSError:
        return False
    return True


def _container(stack: ExitStack) -> tuple[str, str] | None:
    """Run PostgreSQL in a container; None where the engine has no image of it and reaches no registry."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)  # of testcontainers' own modules, while they are imported
        from docker.errors import APIError  # noqa: PLC0415 - needs an engine
        from testcontainers.community.postgres import PostgresContainer  # noqa: PLC0415 - the same
    try:
        container = stack.enter_context(PostgresContainer(IMAGE, driver=None))
    except APIError:
        return None
    return "testcontainers", container.get_connection_url()
