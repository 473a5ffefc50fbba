"""Bring the database to this version's schema, and give the role that serves its rights.

What was derived by other rules or time zones than this version's is rebuilt from the log; its writers wait meanwhile.
Uses MIGRATION_DATABASE_URL, and the password of DATABASE_URL for the role named after the database (`ledger_app` for
`ledger`); without either the packaged server.
"""

import argparse
import os
from urllib.parse import unquote, urlsplit

from service.commands.failures import OwnerNeeded
from service.settings import Settings, from_environment

EXAMPLES = """  respirators migrate
  MIGRATION_DATABASE_URL=postgresql://owner:...@db/ledger DATABASE_URL=postgresql://ledger_app:...@db/ledger \\
    respirators migrate
"""


def add_arguments(_parser: argparse.ArgumentParser) -> None:
    """Take none."""


def run(_options: argparse.Namespace) -> int:
    """Migrate."""
    from service.commands.rebuild import bar, rebuilt
    from service.databases import opened
    from service.serving import run as run_async

    with opened(from_environment(os.environ), print) as settings:
        migrated(settings)
        for name in run_async(outdated(settings)):
            print(f"Rebuilding what was derived for {name}: rules or time zones have changed since.")
            with bar() as progress:
                run_async(rebuilt(settings, name, progress, check=False))
    return 0


def migrated(settings: Settings) -> None:
    """Migrate the database of the settings, in this process, which from then on has alembic loaded."""
    from service.migrating import app_role, migrate

    if settings.migration_database_url is None:
        raise OwnerNeeded
    serving = urlsplit(settings.database_url or "")
    database = urlsplit(settings.migration_database_url).path.lstrip("/")
    ours = serving.password and unquote(serving.username or "") == app_role(unquote(database))
    migrate(settings.migration_database_url, unquote(serving.password or "") if ours else None)


async def outdated(settings: Settings) -> list[str]:
    """Give the organisations whose derived rows were judged by other rules or time zones than this version's."""
    from service.commands.owner import owner
    from service.domain.calendar import TZDATA_VERSION
    from service.domain.edition import MEANING
    from service.store.generation import generation
    from service.store.organisations import organisations
    from service.store.scope import set_organisation

    found = []
    async with owner(settings) as conn:
        for organisation, _ in await organisations(conn):
            await set_organisation(conn, organisation)
            judged = await generation(conn, organisation)
            if judged and (judged.code_version, judged.tzdata_version) != (MEANING, TZDATA_VERSION):
                found.append(str(organisation))
    return found
