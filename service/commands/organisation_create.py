"""Make an organisation, and say who in it is competent first.

Nobody can record a competence before somebody is known to be competent, so the first person is named here. What such
a person may do is the firm's decision under its law and the makers' instructions; the service only keeps it.
"""

import argparse
import os
from datetime import UTC, datetime
from typing import get_args
from uuid import UUID, uuid4

from service.commands import arguments
from service.commands.failures import OrganisationExists
from service.commands.telling import give, say
from service.settings import Settings, from_environment

EXAMPLES = """  respirators organisation create "Northgate Fabrication"
  respirators organisation create "Northgate Fabrication" --administrator-person p-0001 \\
    --competences examine,repair,release
"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("name", help="what the organisation is called")
    parser.add_argument(
        "--administrator-person", metavar="REF", type=arguments.reference, help="reference of the first person"
    )
    parser.add_argument(
        "--competences",
        metavar="LIST",
        type=competences,
        default=("examine", "repair", "release"),
        help="what that person may do (examine,repair,release)",
    )
    arguments.as_json(parser)


def competences(text: str) -> tuple[str, ...]:
    """Read a list of competences."""
    from service.domain.kinds.trained import Competence

    listed = tuple(text.split(","))
    for word in listed:
        if word not in get_args(Competence):
            message = f"{word!r} is none of {', '.join(get_args(Competence))}"
            raise argparse.ArgumentTypeError(message)
    return listed


def run(options: argparse.Namespace) -> int:
    """Make the organisation."""
    from service.databases import opened
    from service.serving import run as run_async

    with opened(from_environment(os.environ), say) as settings:
        organisation = run_async(created(settings, options.name))
        if not options.json:
            print(f"organisation {options.name}: {organisation}")
        person, seq = options.administrator_person, None
        if person:
            from service.commands.first_person import train_first_person

            seq = run_async(train_first_person(settings, organisation, person, options.competences))
            if not options.json:
                print(f"{person}: {', '.join(options.competences)} (seq {seq})")
        if options.json:
            give({"organisation": organisation, "name": options.name, "person": person, "seq": seq})
    return 0


async def created(settings: Settings, name: str) -> UUID:
    """Make an organisation of that name; raises OrganisationExists."""
    from service.commands.owner import owner
    from service.store.make_organisation import make_organisation
    from service.store.organisations import organisations
    from service.store.scope import set_organisation

    organisation = uuid4()
    async with owner(settings) as conn:
        if any(known == name for _, known in await organisations(conn)):
            raise OrganisationExists(name)
        await set_organisation(conn, organisation)
        await make_organisation(conn, organisation, name, datetime.now(UTC))
    return organisation
