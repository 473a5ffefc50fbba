"""Simulate sites that post to the service, and verify what it makes of it.

Site apps of an invented firm post days of events over HTTP, with all that goes wrong on sites: without a line, twice,
in any order, with wrong clocks. The simulation knows what is true. In the end it asks the service for every event,
unit, site and device, and for past days, and names every difference; it ends with 0 only if there is none.

Without --address it makes a database of its own with the packaged PostgreSQL in a temporary folder, serves on loopback,
and leaves nothing behind. With --address it posts to that service, which keeps what is posted, under names of the run.
"""

import argparse
import os
import socket
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, TextIO

import msgspec

from service.commands import arguments, issued_keys
from service.commands.failures import CommandFailure, KeyNeeded, NoDemo
from service.commands.serve import address, migrate_in_child, urls_of
from service.commands.telling import give, say
from service.settings import Settings

if TYPE_CHECKING:
    from seed.keys import Keys
    from seed.simulation.outcome import Outcome
    from seed.simulation.story import Story

EXAMPLES = """  respirators simulate
  respirators simulate --sites 200 --assets 2000 --days 2 --json
  respirators simulate --faults offline,duplicate,reorder --seed 7
  RESPIRATORS_KEY=rl_... respirators simulate --address http://127.0.0.1:8080 --sites 3 --assets 12
"""
NAME = "simulation"
"""The organisation that is simulated, and what its keys are called."""
MOST_WORKERS = 4
DRAIN_SECONDS = 5
WIDTH = 120
"""The width of the report where no terminal shows it."""


class NotSimulated(CommandFailure):
    """The simulation could not be made, or did not come to its end."""


class NotFinished(NotSimulated):
    """The service did not do its part, or not in time."""

    def __init__(self, where: str, failure: Exception) -> None:
        super().__init__(f"{where}: {failure}")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("--sites", type=int, default=10, metavar="N", help="how many sites (10; 500 at most)")
    parser.add_argument("--assets", type=int, default=100, metavar="N", help="how many units (100; 20,000 at most)")
    parser.add_argument("--days", type=int, default=2, metavar="N", help="how many whole days (2; 5 at most)")
    parser.add_argument(
        "--faults",
        default="all",
        metavar="LIST",
        help="offline, duplicate, reorder, drift, ahead, reset, lost, cut, shift-start, with commas between; "
        "all, or none (all)",
    )
    parser.add_argument("--seed", type=int, default=20, metavar="N", help="what everything is drawn from (20)")
    parser.add_argument(
        "--seconds", type=int, default=600, metavar="N", help="how long posting and verifying may take (600)"
    )
    parser.add_argument("--workers", type=int, help=f"processes that serve (one a core, {MOST_WORKERS} at most)")
    parser.add_argument("--address", metavar="URL", help="post to the service that listens there")
    parser.add_argument("--key", help="an administrator's key of that service (RESPIRATORS_KEY)")
    arguments.as_json(parser)


def run(options: argparse.Namespace) -> int:
    """Simulate, print the report, and give 1 if anything differs."""
    told = _elsewhere(_story(options), options) if options.address else _here(_story(options), options)
    if options.json:
        give(told)
    else:
        _print(told)
    return 1 if told.differing else 0


def _story(options: argparse.Namespace) -> "Story":
    """Make up what is to be sent. Raises NotSimulated where that is too much, or not understood."""
    try:
        from seed.simulation.faults import UnknownFault, chosen
        from seed.simulation.scale import NotToScale, Scale, demand_seconds
        from seed.simulation.story import story
    except ModuleNotFoundError as missing:
        raise NoDemo from missing

    try:
        demand_seconds(options.seconds)
        faults = chosen(options.faults)
        scale = Scale(sites=options.sites, assets=options.assets, days=options.days, seed=options.seed, faults=faults)
    except (NotToScale, UnknownFault) as failure:
        raise NotSimulated(str(failure)) from failure
    say("Making up what happens.")
    return story(scale, datetime.now(UTC))


def _elsewhere(story: "Story", options: argparse.Namespace) -> "Outcome":
    """Simulate at a service that runs already, where others may post, too."""
    from seed.keys import Keys
    from service.serving import run as run_async

    key = options.key or os.environ.get("RESPIRATORS_KEY")
    if not key:
        raise KeyNeeded
    keys = Keys(administrator=key, manager=key, site_lead=key, site_app=dict.fromkeys(story.sites, key))
    return run_async(_simulated(story, options.address, keys, options.seconds, alone=False))


def _here(story: "Story", options: argparse.Namespace) -> "Outcome":
    """Simulate at a service of its own: a fresh database in a folder that goes away, served on loopback."""
    from service.databases import opened
    from service.serving import listening
    from service.serving import run as run_async

    workers = options.workers or min(os.cpu_count() or 1, MOST_WORKERS)
    with _room() as room:
        own = Settings(data=room / "data", drain_seconds=DRAIN_SECONDS, workers=workers)
        with (
            opened(own, say) as settings,
            listening(own.host, 0, go_on=False) as door,
            (room / "service.log").open("w+", encoding="utf-8") as log,
        ):
            migrate_in_child(settings)
            return run_async(_served(story, settings, door, log, options.seconds))


@contextmanager
def _room() -> Iterator[Path]:
    """Give a folder that goes away at the end; whoever runs the database as another user has to pass through it."""
    with tempfile.TemporaryDirectory(prefix="rl-") as name:
        Path(name).chmod(0o711)
        yield Path(name)


async def _served(story: "Story", settings: Settings, door: socket.socket, log: TextIO, seconds: int) -> "Outcome":
    """Serve beside this process, simulate, and add what the service says of faults of its own."""
    from service.workers import workers

    keys = await _keys(settings, story.sites)
    async with workers(settings.workers, door, urls_of(settings), log, drain_seconds=settings.drain_seconds):
        told = await _simulated(story, address(door), keys, seconds, alone=True)
    log.seek(0)
    faults = tuple(f"log of the service: {line.strip()}" for line in log if _is_fault(line))
    return msgspec.structs.replace(
        told, differing=told.differing + len(faults), differences=(*told.differences, *faults)
    )


def _is_fault(line: str) -> bool:
    """Say whether a line of the log tells of a fault of the service's own, or of a process that ended."""
    return not line.startswith("{") or msgspec.json.decode(line)["level"] in {"error", "critical"}


async def _keys(settings: Settings, sites: list[str]) -> "Keys":
    """Make the organisation and its keys."""
    from seed.keys import Keys
    from service.commands.organisation_create import created

    organisation = await created(settings, NAME)
    free = [("administrator", None), ("manager", None), ("site-lead", None)]
    made = await issued_keys.make(settings, organisation, NAME, [*free, *(("site-app", site) for site in sites)])
    return Keys(
        administrator=made["administrator", None],
        manager=made["manager", None],
        site_lead=made["site-lead", None],
        site_app={site: made["site-app", site] for site in sites},
    )


async def _simulated(story: "Story", where: str, keys: "Keys", seconds: int, *, alone: bool) -> "Outcome":
    """Send the story and verify what becomes of it. Raises NotSimulated."""
    import httpx

    from seed.simulation.checks.asking import NotAsAsked
    from seed.simulation.delivery import NotDefined
    from seed.simulation.run import NotInTime, simulate
    from service.commands.progress import progress

    try:
        with progress("Posting", "messages") as moved:
            return await simulate(story, where, keys, moved, seconds=seconds, alone=alone)
    except (NotAsAsked, NotDefined, NotInTime, httpx.HTTPError, httpx.InvalidURL) as failure:
        raise NotFinished(where, failure) from failure


def _print(told: "Outcome") -> None:
    """Print the report as a table, and every difference below it."""
    from rich.console import Console
    from rich.table import Column, Table

    from seed.simulation.outcome import rows

    table = Table(Column("what"), Column("how much", overflow="fold"))
    for what, much in rows(told):
        table.add_row(what, much)
    Console(width=None if sys.stdout.isatty() else WIDTH).print(table)
    for difference in told.differences:
        print(f"differs: {difference}")
