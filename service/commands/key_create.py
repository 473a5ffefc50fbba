"""Make an API key and show it, once.

A key is bound to an organisation, a role, and if named to sites and an end. Only a hash of it is stored.
"""

import argparse
import os
from collections.abc import Sequence
from datetime import UTC, datetime
from typing import get_args
from uuid import UUID, uuid4

from service.commands import arguments
from service.commands.telling import give, say
from service.domain.caller import Role
from service.settings import Settings, from_environment

EXAMPLES = """  respirators key create --organisation "Northgate Fabrication" --role manager
  respirators key create --organisation "Northgate Fabrication" --role site-app \\
    --site harrow-dock --site harrow-yard --expires 2027-06-30 --name "kiosks of Harrow"
  respirators key create --organisation "Northgate Fabrication" --role integrator --json
"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    arguments.organisation(parser)
    parser.add_argument("--role", required=True, choices=get_args(Role))
    parser.add_argument(
        "--site",
        dest="sites",
        action="append",
        metavar="REF",
        type=arguments.reference,
        help="a site the key is bound to; may be given more than once; without it the key goes to all",
    )
    parser.add_argument(
        "--expires",
        metavar="WHEN",
        type=arguments.moment_to_come,
        help="until when it is good: a moment with offset, or a date, to its end in UTC",
    )
    parser.add_argument("--name", default="", help="what it is for")
    arguments.as_json(parser)


def run(options: argparse.Namespace) -> int:
    """Make the key and print it alone on the output, so that a script can take it."""
    from service.databases import opened
    from service.serving import run as run_async

    with opened(from_environment(os.environ), say) as settings:
        key, text = run_async(key_by_name(settings, options))
        for site in run_async(undefined(settings, options)) if options.sites else ():
            say(f"No site {site!r} is defined yet; until one is, the key sees nothing there.")
        say("This is the only time it is shown:")
        if options.json:
            give({"id": key, "key": text, "role": options.role, "sites": options.sites, "expires_at": options.expires})
        else:
            print(text)
    return 0


async def key_by_name(settings: Settings, options: argparse.Namespace) -> tuple[UUID, str]:
    """Make a key for the organisation that is named; gives its id and its text."""
    from service.commands.owner import find_organisation, owner

    async with owner(settings) as conn:
        organisation = await find_organisation(conn, options.organisation)
    return await created(
        settings, organisation, options.role, sites=options.sites, expires_at=options.expires, name=options.name
    )


async def undefined(settings: Settings, options: argparse.Namespace) -> list[str]:
    """Name the sites that the key is bound to and that nobody has defined."""
    from service.commands.owner import find_organisation, owner
    from service.domain.kinds.site_defined import SiteDefined
    from service.store.events_of_kinds import events_of_kinds
    from service.store.position import position

    async with owner(settings) as conn:
        organisation = await find_organisation(conn, options.organisation)
        until = (await position(conn, organisation)).head_seq
        subjects = [f"site:{site}" for site in options.sites]
        rows = await events_of_kinds(conn, organisation, subjects, kinds=[SiteDefined.kind], until_seq=until)
    known = {row.event.site for row in rows}
    return [site for site in options.sites if site not in known]


async def created(
    settings: Settings,
    organisation: UUID,
    role: Role,
    *,
    sites: Sequence[str] | None = None,
    expires_at: datetime | None = None,
    name: str = "",
) -> tuple[UUID, str]:
    """Store a new key and give its id and its text, which is stored nowhere."""
    from service.commands.owner import owner
    from service.store.key_secret import new_key_secret
    from service.store.make_key import NewKey, make_key
    from service.store.scope import set_organisation

    secret = new_key_secret()
    key = NewKey(
        id=uuid4(),
        name=name,
        role=role,
        sites=None if sites is None else list(sites),
        secret_hash=secret.hash,
        created_at=datetime.now(UTC),
        expires_at=expires_at,
    )
    async with owner(settings) as conn:
        await set_organisation(conn, organisation)
        await make_key(conn, organisation, key)
    return key.id, secret.text
