"""Rebuild everything derived of an organisation from its log, or say what a rebuild would change.

Needs the owner's connection (MIGRATION_DATABASE_URL, or the packaged server). Whoever posts or asks of it
waits meanwhile, and is told to come again (503) after ten seconds: do it while nobody works.
"""

import argparse
import os
import sys
from collections.abc import Mapping
from uuid import UUID

import msgspec
from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

from service.commands import arguments
from service.commands.telling import give, say
from service.settings import Settings, from_environment

EXAMPLES = """  respirators rebuild --organisation "Northgate Fabrication"
  respirators rebuild --organisation "Northgate Fabrication" --check
  respirators rebuild --organisation "Northgate Fabrication" --check --json
"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    arguments.organisation(parser)
    parser.add_argument("--check", action="store_true", help="change nothing; name every row that would differ")
    arguments.as_json(parser)


def run(options: argparse.Namespace) -> int:
    """Rebuild, or compare: then 1 says that something differs."""
    from service.databases import opened
    from service.serving import run as run_async

    with opened(from_environment(os.environ), say) as settings, bar() as progress:
        return run_async(rebuilt(settings, options.organisation, progress, check=options.check, as_json=options.json))


async def rebuilt(settings: Settings, name: str, progress: Progress, *, check: bool, as_json: bool = False) -> int:
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
            _tell({"events": events}, f"Rebuilt from {events:,} events.", as_json=as_json)
            return 0
        found = await differences(conn, organisation, tell)
    for one in found:
        sentence = f"{one.table} {one.key}\n  stored  {one.stored}\n  rebuilt {one.rebuilt}"
        _tell(msgspec.structs.asdict(one), sentence, as_json=as_json)
    sentence = f"{len(found):,} rows differ." if found else "Nothing differs."
    _tell({"differences": len(found)}, sentence, as_json=as_json)
    return 1 if found else 0


def _tell(value: Mapping[str, object], sentence: str, *, as_json: bool) -> None:
    """Give a value as JSON, or what it says."""
    if as_json:
        give(value)
    else:
        print(sentence)


def bar() -> Progress:
    """Draw progress on the error output, so that the answer can be read by a program."""
    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
    return Progress(*columns, console=Console(file=sys.stderr), transient=True)
