"""Verify the log from its stored bytes, and name everything that is not as it was recorded.

Every hash is computed anew, every column compared with header and body, every kept text with its seal; numbers have no
gap and moments never go back. Changes nothing, and nobody waits for it. Needs the owner's connection
(MIGRATION_DATABASE_URL, or the packaged server).
"""

import argparse
import os
import sys

import msgspec

from service.commands import arguments
from service.settings import Settings, from_environment

EXAMPLES = """  respirators verify
  respirators verify --organisation "Northgate Fabrication" --json
"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    arguments.any_organisation(parser)
    parser.add_argument("--json", action="store_true", help="one JSON object a line: every difference, then the sum")


def run(options: argparse.Namespace) -> int:
    """Verify; 1 says that something differs."""
    from service.databases import opened
    from service.serving import run as run_async

    def say(line: str) -> None:
        print(line, file=sys.stderr)

    with opened(from_environment(os.environ), say) as settings:
        return run_async(verified(settings, options.organisation, as_json=options.json))


async def verified(settings: Settings, name: str | None, *, as_json: bool) -> int:
    """Verify one organisation or all of them on one snapshot, and give the exit code."""
    from service.commands.owner import each_organisation, owner
    from service.commands.progress import progress
    from service.store.scope import fix_snapshot
    from service.verify import Fault, verify

    differing = 0
    async with owner(settings) as conn:
        await fix_snapshot(conn)
        async for organisation, its_name in each_organisation(conn, name):

            def tell(fault: Fault, whose: str = its_name) -> None:
                print(_line(whose, fault, as_json=as_json))

            with progress("Verifying", "events") as told:
                found = await verify(conn, organisation, tell, told)
            print(_line(its_name, found, as_json=as_json))
            differing += found.faults
    return 1 if differing else 0


def _line(organisation: str, said: msgspec.Struct, *, as_json: bool) -> str:
    """Write a difference, or the sum."""
    told = msgspec.structs.asdict(said)
    if as_json:
        return msgspec.json.encode({"organisation": organisation} | told).decode()
    if "detail" in told:
        where = "the log" if told["seq"] is None else f"seq {told['seq']}"
        return f"{organisation}: {where}: {told['what']}: {told['detail']}"
    events, texts, faults = (f"{told[name]:,}" for name in ("events", "texts", "faults"))
    return f"{organisation}: events verified: {events}, texts: {texts}, differences: {faults}"
