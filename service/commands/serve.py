"""Serve the HTTP interface.

Uses DATABASE_URL, whose role must neither own the tables nor pass row-level security. Without it the packaged
PostgreSQL is started, migrated and stopped again at the end. The first Ctrl-C lets requests in flight finish, the
second ends at once.
"""

import argparse
import os
import socket
import subprocess
import sys

import msgspec

from service.commands.failures import ChildFailed, ServingUrlNeeded
from service.settings import Settings, from_environment

EXAMPLES = """  respirators serve
  DATABASE_URL=postgresql://ledger_app:...@db/ledger respirators serve --host 0.0.0.0 --port 80
"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("--host", help="address to listen on (RESPIRATORS_HOST, 127.0.0.1)")
    parser.add_argument("--port", type=int, help="port to listen on (RESPIRATORS_PORT, 8080)")
    parser.add_argument("--workers", type=int, help="processes that serve (RESPIRATORS_WORKERS, 1)")
    parser.add_argument(
        "--door", type=int, help=argparse.SUPPRESS
    )  # a listening socket that this process was born with


def run(options: argparse.Namespace) -> int:
    """Serve until a signal ends it."""
    from service.databases import opened
    from service.logs import configure
    from service.serving import listening
    from service.serving import run as run_async

    configure(sys.stderr)
    told = from_environment(os.environ)
    if options.door is not None:
        run_async(beside(told, socket.socket(fileno=options.door)))
        return 0
    told = msgspec.structs.replace(
        told,
        host=options.host or told.host,
        port=told.port if options.port is None else options.port,
        workers=options.workers or told.workers,
    )
    with opened(told, _say, borrow=False) as settings, listening(told.host, told.port, go_on=False) as door:
        if not told.database_url:
            migrate_in_child(settings)
        run_async(served(settings, door))
    return 0


async def served(settings: Settings, door: socket.socket) -> None:
    """Check the database, then serve from it."""
    from service.app import Wiring, create_app, let_go
    from service.serving import serve
    from service.workers import workers

    await check(settings)

    def ready() -> None:
        print(f"Serving on {address(door)}", flush=True)

    async with workers(settings.workers - 1, door, urls_of(settings), sys.stderr, drain_seconds=settings.drain_seconds):
        app, drain = create_app(Wiring(settings)), settings.drain_seconds
        await serve(app, door, drain_seconds=drain, ready=ready, draining=lambda: let_go(app))


async def beside(settings: Settings, door: socket.socket) -> None:
    """Serve as one of several processes, for as long as the one that started it is there."""
    from service.app import Wiring, create_app, let_go
    from service.serving import serve
    from service.workers import left_alone

    app, drain = create_app(Wiring(settings)), settings.drain_seconds
    await serve(app, door, drain_seconds=drain, draining=lambda: let_go(app), until=left_alone())


async def check(settings: Settings) -> None:
    """Refuse a server, role or schema that must not be served from; raises the store's errors."""
    from service.store.connecting import connect
    from service.store.guard import guard

    if settings.database_url is None:
        raise ServingUrlNeeded
    async with await connect(settings.database_url) as conn:
        await guard(conn)


def migrate_in_child(settings: Settings) -> None:
    """Migrate in a process of its own, so that the one that serves never loads what migrates."""
    command = [sys.executable, "-m", "service", "migrate"]
    ended = subprocess.run(command, check=False, env={**os.environ, **urls_of(settings)})
    if ended.returncode:
        raise ChildFailed("migrate", ended.returncode)


def urls_of(settings: Settings) -> dict[str, str]:
    """Give the variables that tell a child where the database is, and what comes with it."""
    told = {
        "DATABASE_URL": settings.database_url,
        "MIGRATION_DATABASE_URL": settings.migration_database_url,
        "RESPIRATORS_WEBHOOK_KEY": settings.webhook_key,
    }
    return {name: url for name, url in told.items() if url}


def address(door: socket.socket) -> str:
    """Give the URL of a listening socket."""
    host, port = door.getsockname()[:2]
    return f"http://[{host}]:{port}" if ":" in host else f"http://{host}:{port}"


def _say(text: str) -> None:
    """Tell the person who started it."""
    print(text, file=sys.stderr, flush=True)
