"""Rebuild everything derived of an organisation from its log, or say what a rebuild would change.

Needs the owner's connection (MIGRATION_DATABASE_URL, or the packaged server). Writers wait until it is done.
"""

import argparse
import os
import sys
from uuid import UUID

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

from service.commands import arguments
from service.settings import Settings, from_environment

EXAMPLES = """  respirators rebuild --organisation "Northgate Fabrication"
  respirators rebuild --organisation "Northgate Fabrication" --check
"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    arguments.organisation(parser)
    parser.add_argument("--check", action="store_true", help="change nothing; name every row that would differ")


def run(options: argparse.Namespace) -> int:
    """Rebuild, or compare: then 1 says that something differs."""
    from service.databases import opened
    from service.serving import run as run_async

    with opened(from_environment(os.environ), print) as settings, bar() as progress:
        return run_async(rebuilt(settings, options.organisation, progress, check=options.check))


async def rebuilt(settings: Settings, name: str, progress: Progress, *, check: bool) -> int:
    """Do the work in the owner's transaction, and give the exit code."""
    from service.commands.owner import find_organisation, owner
    from service.rebuild import differences, rebuild

    async with owner(settings) as conn:
        organisation: UUID = await find_organisation(conn, name)
        tasks = {what: progress.add_task(what, total=None) for what in ("events", "kins")}

        def tell(what: str, done: int, total: int) -> None:
            progress.update(tasks[what], completed=done, total=total)

        if not check:
            events = await rebuild(conn, organisation, tell)
            print(f"Rebuilt from {events:,} events.")
            return 0
        found = await differences(conn, organisation, tell)
    for one in found:
        print(f"{one.table} {one.key}\n  stored  {one.stored}\n  rebuilt {one.rebuilt}")
    print("Nothing differs." if not found else f"{len(found):,} rows differ.")
    return 1 if found else 0


def bar() -> Progress:
    """Draw progress on the error output, so that the answer can be read by a program."""
    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
    return Progress(*columns, console=Console(file=sys.stderr), transient=True)
