"""Bring a database to the schema this code needs. Only the commands that migrate import this: it loads alembic."""

from functools import partial
from pathlib import Path

import psycopg
from alembic.command import upgrade
from alembic.config import Config
from alembic.util import CommandError
from psycopg import sql
from psycopg.errors import (
    DuplicateObject,
    DuplicateTable,
    UndefinedColumn,
    UndefinedFunction,
    UndefinedObject,
    UndefinedTable,
)
from sqlalchemy.exc import ProgrammingError

from service.store.errors import StrangeSchema

MIGRATIONS = Path(__file__).parents[1] / "migrations"
MISMATCHES = (DuplicateObject, DuplicateTable, UndefinedColumn, UndefinedFunction, UndefinedObject, UndefinedTable)
"""What migrations and grants meet where the schema is not what its revision says."""


def migrate(owner_url: str, app_password: str | None = None) -> None:
    """Migrate to the newest revision as the owner, and make or keep the serving role `<database>_app`.

    With a password the role can log in; without one it stays as it is (new: no login), to be granted to a login.
    Raises StrangeSchema where the schema was made by a version that no migration starts from.
    """
    try:
        upgrade(configuration(owner_url, app_password), "head")
    except CommandError as failure:
        raise StrangeSchema(str(failure)) from failure
    except ProgrammingError as failure:
        if isinstance(failure.orig, MISMATCHES):
            raise StrangeSchema(str(failure.orig).partition("\n")[0]) from failure
        raise


def configuration(owner_url: str, app_password: str | None = None) -> Config:
    """Give alembic's configuration for a database; there is no ini file.

    The password is set in the transaction of the migrations, under their lock: two commands that change one role at
    once would fail.
    """
    last = None if app_password is None else partial(let_in, password=app_password)
    config = Config(attributes={"url": owner_url, "last": last})
    config.set_main_option("script_location", str(MIGRATIONS).replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    return config


def let_in(conn: psycopg.Connection, password: str) -> None:
    """Give the serving role a login. The server gets a verifier, so that no log of statements shows the password."""
    role = app_role(conn.info.dbname)
    verifier = conn.pgconn.encrypt_password(password.encode(), role.encode(), b"scram-sha-256").decode()
    conn.execute(sql.SQL("ALTER ROLE {} LOGIN PASSWORD {}").format(sql.Identifier(role), sql.Literal(verifier)))


def app_role(database: str) -> str:
    """Name the serving role of a database, as grants.sql does."""
    return f"{database}_app"
