"""Load the demo: a year of an invented fabrication group, posted over HTTP to a running service.

Every message goes through POST /v1/events with a key of the right role. Meanwhile 50 summaries are saved; when all is
posted, which a line on the output says, they are asked for again as known then, and have to be equal byte for byte.
An interrupted load is taken up again from its first message: what is there already is answered as repeated.
"""

import argparse
import os
import sys
from typing import TYPE_CHECKING
from uuid import UUID

from service.commands import arguments
from service.commands.failures import NoDemo
from service.settings import Settings, from_environment

if TYPE_CHECKING:
    from seed.keys import Keys

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
    from service.commands.owner import find_organisation, owner
    from service.commands.progress import progress
    from service.store.organisation_made_at import organisation_made_at

    try:
        from seed.load import load, reread
        from seed.wire import LoadError
    except ModuleNotFoundError as missing:
        raise NoDemo from missing

    async with owner(settings) as conn:
        organisation = await find_organisation(conn, name)
        end = await organisation_made_at(conn, organisation)
    if await issued_keys.is_loaded(settings, organisation):
        say("The demo is loaded already.")
        return 0
    say("Playing a year of the demo, then posting it.")
    keys = await _keys(settings, organisation)
    try:
        with progress("Posting", "messages") as moved:
            came = await load(address, keys, moved, end=end)
        told = ", ".join(f"{count:,} answered {status}" for status, count in sorted(came.statuses.items()))
        pace = f"{came.messages:,} messages in {came.seconds:.1f} s, {came.per_second:,.0f} a second"
        print(f"{pace}: {told}.", flush=True)
        say(
            f"Asking the {len(came.saved)} summaries saved meanwhile again, one after another; "
            "this ends by itself, and until then answers are slower."
        )
        changed = await reread(address, keys, came)
    except LoadError as failure:
        say(f"The demo stopped: {failure}")
        return 1
    await issued_keys.end(settings, organisation, issued_keys.DEMO)
    same, saved = len(came.saved) - len(changed), len(came.saved)
    say(f"{same} of {saved} saved summaries are equal byte for byte when asked again as known then.")
    for moment in changed:
        say(f"otherwise now: as_at={moment}")
    return 1 if changed else 0


async def _keys(settings: Settings, organisation: UUID) -> "Keys":
    """Make the keys that the demo is posted with."""
    from seed.keys import Keys
    from seed.sites import SITES
    from service.commands import issued_keys

    free = [("administrator", None), ("manager", None), ("site-lead", None)]
    sites = [site.ref for site in SITES]
    wanted = [*free, *(("site-app", site) for site in sites)]
    made = await issued_keys.make(settings, organisation, issued_keys.DEMO, wanted)
    return Keys(
        administrator=made["administrator", None],
        manager=made["manager", None],
        site_lead=made["site-lead", None],
        site_app={site: made["site-app", site] for site in sites},
    )


def say(text: str) -> None:
    """Tell the person who started it."""
    print(text, file=sys.stderr, flush=True)
