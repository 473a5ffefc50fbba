"""Erase what was sent in rejected messages: in one, in all of a key, or in all that name a person.

That they came, how they ended, and the reports of failures among them stay. One that is open can be dismissed, no
longer tried again. Nothing brings a message back. Needs the owner's connection (MIGRATION_DATABASE_URL, or the packaged
server). What was recorded has its own command: see `erase texts`.
"""

import argparse
import os
from datetime import UTC, datetime
from uuid import UUID

import msgspec

from service.commands import arguments
from service.commands.failures import NothingToErase
from service.commands.telling import give, say
from service.settings import Settings, from_environment
from service.store.erase_rejected import ErasedMessage

EXAMPLES = """  respirators erase rejected --organisation "Northgate" --message 0f0c3f3e-6a44-4b9e-8a5e-0d8a3d1f6c55
  respirators erase rejected --organisation "Northgate" --person p-3071
"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    arguments.organisation(parser)
    arguments.as_json(parser)
    what = parser.add_mutually_exclusive_group(required=True)
    what.add_argument("--message", type=UUID, metavar="ID", help="the `rejected` id of the message")
    what.add_argument("--key", type=UUID, metavar="ID", help="every message of this key; `key list` shows ids")
    what.add_argument("--person", type=arguments.reference, metavar="REF", help="every message that names the person")


def run(options: argparse.Namespace) -> int:
    """Erase, and say what was erased."""
    from service.databases import opened
    from service.serving import run as run_async

    with opened(from_environment(os.environ), say) as settings:
        gone = run_async(erased(settings, options))
    for message in gone if options.json else ():
        give(msgspec.structs.asdict(message))
    if options.json:
        return 0
    for message in gone:
        print(f"rejected {message.id}: {message.state}, {message.kind or 'of no kind'}, {message.tag or 'of no unit'}")
    print(f"messages erased: {len(gone):,}")
    return 0


async def erased(settings: Settings, options: argparse.Namespace) -> list[ErasedMessage]:
    """Erase in one transaction; raises NothingToErase."""
    from service.commands.owner import find_organisation, owner
    from service.store.erase_rejected import erase_rejected

    async with owner(settings) as conn:
        gone = await erase_rejected(
            conn,
            await find_organisation(conn, options.organisation),
            datetime.now(UTC),
            rejected=options.message,
            key=options.key,
            naming=options.person,
        )
    if not gone:
        raise NothingToErase
    return gone
