"""Bring the whole service up on this machine: database, demo, HTTP.

Makes what is missing and keeps what is there: a second run serves the same data, does not load the demo again, and
issues the keys anew, since each is shown only once. The first Ctrl-C lets requests in flight finish, the second ends
at once.
"""

import argparse
import asyncio
import os
import socket
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any, TextIO, get_args
from uuid import UUID

import msgspec

from service.commands import issued_keys
from service.commands.serve import address, check, migrate_in_child, urls_of
from service.domain.caller import Role
from service.settings import Settings, from_environment

if TYPE_CHECKING:
    from rich.table import Table

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
    from service.app import create_app
    from service.serving import serve
    from service.workers import workers

    await check(settings)
    organisation = await _organisation(settings)
    keys = await _keys(settings, organisation, site=SITE if demo else None)
    guests: list[asyncio.Task[None]] = []

    def ready() -> None:
        guests.append(asyncio.create_task(_welcome(settings, address(door), keys, demo=demo)))

    drain = settings.drain_seconds
    try:
        async with workers(settings.workers - 1, door, urls_of(settings), log, drain_seconds=drain):
            await serve(create_app(settings), door, drain_seconds=drain, ready=ready)
    finally:
        for guest in guests:
            guest.cancel()
        for ended in await asyncio.gather(*guests, return_exceptions=True):
            if isinstance(ended, Exception):
                raise ended


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
    """Load the demo in a process of its own, then print address, keys and summary."""
    from rich.console import Console

    from service.commands.summary_table import table

    console = Console(markup=False, highlight=False)
    console.print(
        f"Serving on {where}", f"The log of requests goes to {settings.data / 'service.log'}", sep="\n", soft_wrap=True
    )
    if demo and not await _load(settings, where):
        console.print("The demo did not come out as it should; what went wrong is told above.")
    console.print(_shown(keys))
    console.print(table(await _summary(where, keys["manager", None])))
    console.print(f"Serving on {where} until Ctrl-C.")


def _shown(keys: dict[tuple[str, str | None], str]) -> "Table":
    """Draw the keys."""
    from rich.box import SIMPLE_HEAD
    from rich.table import Column, Table

    title = "A key for each role, shown this once"
    drawn = Table("role", "site", Column("key", no_wrap=True), title=title, box=SIMPLE_HEAD, padding=0, show_edge=False)
    for (role, site), text in keys.items():
        drawn.add_row(role, site or "all", text)
    return drawn


async def _load(settings: Settings, where: str) -> bool:
    """Load the demo; False when it was not loaded as it should be."""
    command = [sys.executable, "-m", "service", "demo", "--organisation", ORGANISATION, "--address", where]
    child = await asyncio.create_subprocess_exec(*command, env={**os.environ, **urls_of(settings)})
    try:
        code = await child.wait()
    except asyncio.CancelledError:
        child.terminate()
        await child.wait()
        raise
    if code == INTERRUPTED:
        raise asyncio.CancelledError  # Ctrl-C reached the child too; the service is on its way out
    return code == 0


async def _summary(where: str, key: str) -> dict[str, Any]:
    """Ask the service for the summary of all sites, as its manager would."""
    import httpx

    async with httpx.AsyncClient(base_url=where, timeout=60) as client:
        answer = await client.get("/v1/compliance", headers={"Authorization": f"Bearer {key}"})
    answer.raise_for_status()
    return dict(answer.json())


def _say(text: str) -> None:
    """Tell the person who started it."""
    print(text, flush=True)
