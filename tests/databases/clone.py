"""Databases for tests: a template migrated once, clones of it, and empty ones; each with its roles."""

import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from typing import NamedTuple
from urllib.parse import quote, urlsplit, urlunsplit

import psycopg
from psycopg.sql import SQL, Identifier, Literal

from tests.databases.cluster import Cluster

PASSWORD = "a-password-of-one-run"
ITERATIONS_SET = 160_000
"""The first version of PostgreSQL that can be told how often to hash a password."""


class Database(NamedTuple):
    """A database, and its URLs for the role that owns it and the role that serves from it."""

    name: str
    owner_url: str
    app_url: str


LINGERING = 2
"""How many clones of a template wait to be dropped: a backend whose client left a moment ago holds a drop up."""


class Template(NamedTuple):
    """The server and the migrated database that is cloned, over a connection of the server's administrator.

    `left` are the clones that nobody needs any more, the oldest first.
    """

    cluster: Cluster
    database: Database
    admin: psycopg.Connection
    left: list[str]

    def drop(self, *, but: int = 0) -> None:
        """Drop the clones that nobody needs, but for so many of the newest."""
        while len(self.left) > but:
            self.admin.execute(SQL("DROP DATABASE IF EXISTS {} WITH (FORCE)").format(Identifier(self.left.pop(0))))


def url_for(url: str, database: str, user: str, password: str) -> str:
    """Give the URL of the same server for another database and role."""
    parts = urlsplit(url)
    place = parts.netloc.rpartition("@")[2]
    return urlunsplit(parts._replace(netloc=f"{quote(user)}:{quote(password)}@{place}", path=f"/{quote(database)}"))


@contextmanager
def empty(cluster: Cluster) -> Iterator[Database]:
    """Make a database with a fresh owner role that is no superuser; remove it and its roles afterwards."""
    name = f"rl_{secrets.token_hex(6)}"
    owner, app = f"{name}_owner", f"{name}_app"
    made = Database(name, url_for(cluster.url, name, owner, PASSWORD), url_for(cluster.url, name, app, PASSWORD))
    with psycopg.connect(cluster.url, autocommit=True) as admin:
        _make_owner(admin, Identifier(owner))
        admin.execute(
            SQL("CREATE DATABASE {} OWNER {} TEMPLATE template0 ENCODING 'UTF8' LC_COLLATE 'C' LC_CTYPE 'C'").format(
                Identifier(name), Identifier(owner)
            )
        )
    try:
        yield made
    finally:
        with psycopg.connect(cluster.url, autocommit=True) as admin:
            admin.execute(SQL("DROP DATABASE IF EXISTS {} WITH (FORCE)").format(Identifier(name)))
            admin.execute(SQL("DROP ROLE IF EXISTS {}, {}").format(Identifier(app), Identifier(owner)))


def _make_owner(admin: psycopg.Connection, owner: Identifier) -> None:
    """Make the owner role.

    Its password, and those that it sets, are hashed once where a server can be told so: by default each connection does
    it four thousand times, and there are thousands of them.
    """
    quick = admin.info.server_version >= ITERATIONS_SET
    if quick:
        admin.execute("SET scram_iterations = 1")
    admin.execute(SQL("CREATE ROLE {} LOGIN CREATEROLE PASSWORD {}").format(owner, Literal(PASSWORD)))
    if quick:
        admin.execute(SQL("ALTER ROLE {} SET scram_iterations = 1").format(owner))
    admin.execute(SQL("GRANT {} TO CURRENT_USER").format(owner))


@contextmanager
def made_template(cluster: Cluster) -> Iterator[Template]:
    """Migrate a database once, to be cloned."""
    from service.migrating import migrate  # noqa: PLC0415 - tests that need no database load no alembic

    with empty(cluster) as database:
        migrate(database.owner_url, PASSWORD)
        with psycopg.connect(cluster.url, autocommit=True) as admin:
            template = Template(cluster, database, admin, [])
            try:
                yield template
            finally:
                template.drop()


@contextmanager
def cloned(template: Template) -> Iterator[Database]:
    """Clone the template; its roles serve the clone too."""
    cluster, original, admin, left = template
    name = f"{original.name}_{secrets.token_hex(4)}"
    owner, app = f"{original.name}_owner", f"{original.name}_app"
    strategy = SQL("STRATEGY file_copy" if cluster.in_memory else "")  # on a disk it would wait for a checkpoint
    admin.execute(
        SQL("CREATE DATABASE {} TEMPLATE {} OWNER {} {}").format(
            Identifier(name), Identifier(original.name), Identifier(owner), strategy
        )
    )
    try:
        yield Database(name, url_for(cluster.url, name, owner, PASSWORD), url_for(cluster.url, name, app, PASSWORD))
    finally:
        left.append(name)
        template.drop(but=LINGERING)
