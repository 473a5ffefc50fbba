"""List the API keys of an organisation: ids, roles, sites and ends, never the keys themselves."""

import argparse
import os
import sys
from datetime import UTC, datetime

import msgspec
from rich.console import Console
from rich.table import Column, Table

from service.commands import arguments
from service.commands.telling import give, say
from service.settings import Settings, from_environment
from service.store.keys import Key

EXAMPLES = """  respirators key list --organisation "Northgate Fabrication"
  respirators key list --organisation "Northgate Fabrication" --json
"""
UNCUT = 10_000
"""The width of a table that no terminal shows, but a file or another command takes."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    arguments.organisation(parser)
    arguments.as_json(parser)


def run(options: argparse.Namespace) -> int:
    """Print the keys, as a table or as JSON with `sites` null where a key goes to all."""
    from service.databases import opened
    from service.serving import run as run_async

    with opened(from_environment(os.environ), say) as settings:
        listed = run_async(of_organisation(settings, options.organisation))
    if not options.json:
        Console(width=None if sys.stdout.isatty() else UNCUT).print(table(listed))
        return 0
    for key in listed:
        give(msgspec.structs.asdict(key))
    return 0


async def of_organisation(settings: Settings, name: str) -> list[Key]:
    """Give the keys of an organisation named or numbered."""
    from service.commands.owner import find_organisation, owner
    from service.store.keys import keys

    async with owner(settings) as conn:
        return await keys(conn, await find_organisation(conn, name))


def table(listed: list[Key]) -> Table:
    """Draw the table; moments are in UTC."""
    folding = (Column(head, overflow="fold") for head in ("role", "sites", "name", "made", "until"))
    drawn = Table(Column("id", no_wrap=True, min_width=36), *folding)
    for key in listed:
        sites = "all" if key.sites is None else ", ".join(key.sites)
        drawn.add_row(str(key.id), key.role, sites, key.name, _minute(key.created_at), _end(key))
    return drawn


def _end(key: Key) -> str:
    """Say until when the key is or was good."""
    if key.revoked_at:
        return f"revoked {_minute(key.revoked_at)}"
    return _minute(key.expires_at) if key.expires_at else ""


def _minute(moment: datetime) -> str:
    """Write a moment to the minute, in UTC."""
    return f"{moment.astimezone(UTC):%Y-%m-%d %H:%MZ}"
