"""Load the demo: a year of an invented fabrication group, posted over HTTP to a running service.

Every message goes through POST /v1/events with a key of the right role. Meanwhile 50 summaries are saved; at the end
they are asked for again as known then, and have to be equal byte for byte. An interrupted load is taken up again from
its first message: what is there already is answered as repeated.
"""

import argparse
import os
import sys

from service.commands import arguments
from service.settings import Settings, from_environment

EXAMPLES = """  respirators organisation create Varrowby
  respirators demo --organisation Varrowby --address http://127.0.0.1:8080
"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    arguments.organisation(parser)
    parser.add_argument("--address", required=True, metavar="URL", help="where the service listens")


def run(options: argparse.Namespace) -> int:
    """Load the demo unless it is there; gives 1 when anything came out otherwise than it should."""
    from service.databases import opened
    from service.serving import run as run_async

    with opened(from_environment(os.environ), say) as settings:
        return run_async(loaded(settings, options.organisation, options.address))


async def loaded(settings: Settings, name: str, address: str) -> int:
    """Load the demo into the organisation; its year ends when the organisation was made. Gives the exit code."""
    from service.commands import issued_keys
    from service.commands.demo_load import load, report
    from service.commands.owner import find_organisation, owner
    from service.store.organisation_made_at import organisation_made_at

    async with owner(settings) as conn:
        organisation = await find_organisation(conn, name)
        end = await organisation_made_at(conn, organisation)
    if end is None or await issued_keys.is_loaded(settings, organisation):
        say("The demo is loaded already.")
        return 0
    say("Playing a year of the demo, then posting it.")
    came = await load(settings, organisation, address, end)
    await issued_keys.end(settings, organisation, issued_keys.DEMO)
    for line in report(came):
        say(line)
    return 1 if came.surprises or came.changed else 0


def say(text: str) -> None:
    """Tell the person who started it."""
    print(text, file=sys.stderr, flush=True)
