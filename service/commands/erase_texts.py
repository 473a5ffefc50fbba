"""Erase the free text of an event, or of every event that names a person. Nothing brings it back.

The log holds only a seal of each text, so that it stays as it is and `verify` still proves it. Needs the owner's
connection (MIGRATION_DATABASE_URL, or the packaged server). Backups keep what they hold. What was refused is kept
whole: see `erase rejected`.
"""

import argparse
import os
from uuid import UUID

import msgspec

from service.commands import arguments
from service.commands.failures import NothingToErase
from service.commands.telling import give, say
from service.settings import Settings, from_environment
from service.store.erase_texts import ErasedText

EXAMPLES = """  respirators erase texts --organisation "Northgate" --event 0198c1f2-7a10-7c3e-9b55-3f1d2ab40c01
  respirators erase texts --organisation "Northgate" --person p-3071
"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    arguments.organisation(parser)
    arguments.as_json(parser)
    what = parser.add_mutually_exclusive_group(required=True)
    what.add_argument("--event", type=UUID, metavar="ID", help="the texts of this event")
    what.add_argument("--person", type=arguments.reference, metavar="REF", help="of every event that names the person")


def run(options: argparse.Namespace) -> int:
    """Erase, and say what was erased."""
    from service.databases import opened
    from service.serving import run as run_async

    with opened(from_environment(os.environ), say) as settings:
        gone = run_async(erased(settings, options.organisation, options.event, options.person))
    for text in gone if options.json else ():
        give(msgspec.structs.asdict(text))
    if options.json:
        return 0
    for text in gone:
        print(f"event {text.event}: {text.path}")
    print(f"texts erased: {len(gone):,}")
    return 0


async def erased(settings: Settings, name: str, event: UUID | None, person: str | None) -> list[ErasedText]:
    """Erase in one transaction; raises NothingToErase."""
    from service.commands.owner import find_organisation, owner
    from service.store.erase_texts import erase_texts
    from service.store.erase_texts_naming import erase_texts_naming

    async with owner(settings) as conn:
        organisation = await find_organisation(conn, name)
        if event is not None:
            gone = await erase_texts(conn, organisation, event)
        else:
            gone = await erase_texts_naming(conn, organisation, str(person))
    if not gone:
        raise NothingToErase
    return gone
