"""Bring the whole service up on this machine: database, demo, HTTP.

Makes what is missing and keeps what is there: a second run serves the same data, does not load the demo again, and
issues the keys anew, since each is shown only once; they come as lines to paste into a shell. The first Ctrl-C lets
requests in flight finish, the second ends at once.
"""

import argparse
import asyncio
import os
import socket
import sys
from asyncio.subprocess import Process
from pathlib import Path
from typing import TextIO, get_args
from uuid import UUID

import msgspec

from service.commands import issued_keys
from service.commands.serve import address, check, migrate_in_child, urls_of
from service.domain.caller import Role
from service.settings import Settings, from_environment

EXAMPLES = """  python3 -m service up
  python3 -m service up --port 9000 --data /srv/respirators --no-demo
"""
ORGANISATION = "Varrowby"
SITE = "harrow-dock"
"""The organisation of the demo, and the site that its keys of one site are bound to."""
BOUND = ("site-app", "site-lead")
INTERRUPTED = 130
MOST_WORKERS = 4


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument(
        "--port", type=int, help="port to listen on (RESPIRATORS_PORT, 8080); the next one if it is taken"
    )
    parser.add_argument(
        "--data", type=Path, metavar="DIR", help="folder of the database (RESPIRATORS_DATA, .respirators)"
    )
    parser.add_argument("--workers", type=int, help=f"processes that serve (one a core, {MOST_WORKERS} at most)")
    parser.add_argument("--no-demo", action="store_true", help="leave the demo out")


def run(options: argparse.Namespace) -> int:
    """Serve until a signal ends it."""
    from service.databases import opened
    from service.logs import configure
    from service.serving import listening
    from service.serving import run as run_async

    told = from_environment(os.environ)
    told = msgspec.structs.replace(
        told,
        port=told.port if options.port is None else options.port,
        data=options.data or told.data,
        workers=options.workers or min(os.cpu_count() or 1, MOST_WORKERS),
    )
    with (
        opened(told, _say, borrow=False) as settings,
        listening(told.host, told.port, go_on=True) as door,
        _log(told.data / "service.log") as log,
    ):
        configure(log)
        migrate_in_child(settings)
        run_async(brought_up(settings, door, log, demo=not options.no_demo))
    return 0


def _log(file: Path) -> TextIO:
    """Open the log of requests, which stays out of what the person reads."""
    file.parent.mkdir(parents=True, exist_ok=True)
    return os.fdopen(os.open(file, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600), "w", encoding="utf-8")


async def brought_up(settings: Settings, door: socket.socket, log: TextIO, *, demo: bool) -> None:
    """Make what is missing, then serve; once it serves, load the demo and say what there is."""
    from service.app import Wiring, create_app, let_go
    from service.serving import serve
    from service.workers import workers

    await check(settings)
    organisation = await _organisation(settings)
    keys = await _keys(settings, organisation, site=SITE if demo else None)
    guests: list[asyncio.Task[None]] = []

    def ready() -> None:
        guests.append(asyncio.create_task(_welcome(settings, address(door), keys, demo=demo)))

    async def ending() -> None:
        for guest in guests:
            guest.cancel()
        await asyncio.gather(*guests, return_exceptions=True)

    drain = settings.drain_seconds
    async with workers(settings.workers - 1, door, urls_of(settings), log, drain_seconds=drain):
        app = create_app(Wiring(settings))
        await serve(app, door, drain_seconds=drain, ready=ready, ending=ending, draining=lambda: let_go(app))
    for guest in guests:
        if not guest.cancelled() and (failure := guest.exception()):
            raise failure


async def _organisation(settings: Settings) -> UUID:
    """Find the organisation, or make it."""
    from service.commands.organisation_create import created
    from service.commands.owner import owner
    from service.store.organisations import organisations

    async with owner(settings) as conn:
        known = {name: organisation for organisation, name in await organisations(conn)}
    return known.get(ORGANISATION) or await created(settings, ORGANISATION)


async def _keys(settings: Settings, organisation: UUID, site: str | None) -> dict[tuple[str, str | None], str]:
    """Issue a key for each role; those of the run before end here."""
    await issued_keys.end(settings, organisation, "up")
    wanted = [(role, site if role in BOUND else None) for role in get_args(Role)]
    return await issued_keys.make(settings, organisation, "up", wanted)


async def _welcome(settings: Settings, where: str, keys: dict[tuple[str, str | None], str], *, demo: bool) -> None:
    """Have the demo loaded; print address, keys and summary as soon as it is posted, then what its check found."""
    from service.commands.summary import asked

    _say(f"Serving on {where}\nThe log of requests goes to {settings.data / 'service.log'}")
    child = await _demo(settings, where) if demo else None
    try:
        if child is not None:
            await _posted(child)
        _say(_shown(where, keys))
        _say((await asked(where, keys["manager", None])).decode())
        _say(f"Serving on {where} until Ctrl-C.")
        if child is not None and not await _came_out(child):
            _say("The demo did not come out as it should; what went wrong is told above.")
    except asyncio.CancelledError:
        await _end(child)
        raise


def _shown(where: str, keys: dict[tuple[str, str | None], str]) -> str:
    """Write address and keys as lines for a shell, each key under the name of its role."""
    sites = {site for _, site in keys if site}
    bound = f"; those of {' and '.join(BOUND)} are bound to {', '.join(sorted(sites))}" if sites else ""
    lines = [f"{role.upper().replace('-', '_')}={text}" for (role, _), text in keys.items()]
    return "\n".join([f"\nKeys are shown this once{bound}. Paste into a shell:\n", f"BASE={where}", *lines, ""])


async def _demo(settings: Settings, where: str) -> Process:
    """Load the demo in a process of its own, which says on its output when all is posted.

    Ctrl-C is for us alone: what reached it as well would interrupt it once more while we end it.
    """
    return await asyncio.create_subprocess_exec(
        *(sys.executable, "-m", "service", "demo", "--organisation", ORGANISATION, "--address", where),
        stdout=asyncio.subprocess.PIPE,
        env={**os.environ, **urls_of(settings)},
        start_new_session=True,
    )


async def _posted(child: Process) -> None:
    """Wait until the demo is posted, or has ended without, and pass on what it says of that."""
    told = b"" if child.stdout is None else await child.stdout.readline()
    if told:
        _say(told.decode().rstrip())
    elif await child.wait() == INTERRUPTED:
        raise asyncio.CancelledError  # it was interrupted; the service is on its way out


async def _came_out(child: Process) -> bool:
    """Say whether the demo ended as it should."""
    code = await child.wait()
    if code == INTERRUPTED:
        raise asyncio.CancelledError
    return code == 0


async def _end(child: Process | None) -> None:
    """End the process that loads the demo, as long as what it asks is still answered."""
    if child is not None and child.returncode is None:
        child.terminate()
        await child.wait()


def _say(text: str) -> None:
    """Tell the person who started it."""
    print(text, flush=True)
