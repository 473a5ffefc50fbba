"""Revoke an API key: it is refused from now on, and stays in the list."""

import argparse
import os
from datetime import UTC, datetime
from uuid import UUID

from service.commands import arguments
from service.commands.failures import NoSuchKey
from service.settings import Settings, from_environment

EXAMPLES = """  respirators key revoke --organisation "Northgate Fabrication" 0f0c3f3e-6a44-4b9e-8a5e-0d8a3d1f6c55
"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    arguments.organisation(parser)
    parser.add_argument("key", type=UUID, help="the id that `key list` shows")


def run(options: argparse.Namespace) -> int:
    """Revoke the key."""
    from service.databases import opened
    from service.serving import run as run_async

    with opened(from_environment(os.environ), print) as settings:
        run_async(revoked(settings, options.organisation, options.key))
    print(f"revoked {options.key}")
    return 0


async def revoked(settings: Settings, organisation: str, key: UUID) -> None:
    """Revoke a live key of the organisation; raises NoSuchKey."""
    from service.commands.owner import find_organisation, owner
    from service.store.revoke_key import revoke_key

    async with owner(settings) as conn:
        found = await find_organisation(conn, organisation)
        if not await revoke_key(conn, found, key, datetime.now(UTC)):
            raise NoSuchKey(str(key))
