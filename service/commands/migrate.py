"""Bring the database to this version's schema, and give the role that serves its rights.

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
    from service.databases import opened

    with opened(from_environment(os.environ), print) as settings:
        migrated(settings)
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
