"""List the organisations of the database: names and ids."""

import argparse
import os
from uuid import UUID

from service.commands import arguments
from service.commands.telling import give, say
from service.settings import Settings, from_environment

EXAMPLES = """  respirators organisation list
  respirators organisation list --json
"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    arguments.as_json(parser)


def run(options: argparse.Namespace) -> int:
    """Print a line for each."""
    from service.databases import opened
    from service.serving import run as run_async

    with opened(from_environment(os.environ), say) as settings:
        listed = run_async(known(settings))
    for organisation, name in listed:
        if options.json:
            give({"organisation": organisation, "name": name})
        else:
            print(f"{organisation} {name}")
    return 0


async def known(settings: Settings) -> list[tuple[UUID, str]]:
    """Give id and name of every organisation, by name."""
    from service.commands.owner import owner
    from service.store.organisations import organisations

    async with owner(settings) as conn:
        return await organisations(conn)
