"""The two doors to the database: URLs from the settings, or to the packaged server, started for as long as needed."""

import hashlib
import hmac
from collections.abc import Iterator
from contextlib import contextmanager

import msgspec
import psycopg
from psycopg.sql import SQL, Identifier, Literal

from service.embedded import postgres, running
from service.embedded_cluster import SUPERUSER, Say, password
from service.embedded_failures import Busy
from service.embedded_server import Server
from service.settings import Settings

DATABASE = "ledger"
OWNER = "ledger_owner"
APP = "ledger_app"
WEBHOOKS = "webhooks"
"""What is no role, but comes from the same secret: the key of webhooks."""


@contextmanager
def opened(settings: Settings, say: Say, *, borrow: bool = True) -> Iterator[Settings]:
    """Give the settings with both URLs filled in, as long as the block runs.

    Where no URL is set, this starts the packaged server, or with `borrow` uses the one that another process of this
    program runs on the same folder. Raises EmbeddedFailure when there is none to be had.
    """
    if settings.database_url or settings.migration_database_url:
        yield settings
        return
    try:
        with postgres(settings.data.absolute(), say=say) as server:
            yield _prepared(settings, server)
    except Busy:
        server_of_another = running(settings.data.absolute()) if borrow else None
        if server_of_another is None:
            raise
        yield _prepared(settings, server_of_another)


def _prepared(settings: Settings, server: Server) -> Settings:
    """Make the owner role and the database where they are missing, and fill in the URLs.

    The owner is no superuser: row-level security holds for it too. The migrations make the app role.
    """
    secret = password(settings.data.absolute())
    owner_password = _derived(secret, OWNER)
    with psycopg.connect(server.url("postgres", SUPERUSER, secret), autocommit=True) as admin:
        if admin.execute("SELECT 1 FROM pg_roles WHERE rolname = %s", (OWNER,)).fetchone() is None:
            role = SQL("CREATE ROLE {} LOGIN CREATEROLE PASSWORD {}")
            admin.execute(role.format(Identifier(OWNER), Literal(owner_password)))
        if admin.execute("SELECT 1 FROM pg_database WHERE datname = %s", (DATABASE,)).fetchone() is None:
            admin.execute(SQL("CREATE DATABASE {} OWNER {}").format(Identifier(DATABASE), Identifier(OWNER)))
    return msgspec.structs.replace(
        settings,
        database_url=server.url(DATABASE, APP, _derived(secret, APP)),
        migration_database_url=server.url(DATABASE, OWNER, owner_password),
        webhook_key=settings.webhook_key or _derived(secret, WEBHOOKS),
    )


def _derived(secret: str, role: str) -> str:
    """Give the password of a role, or a key, so that one secret is kept and none is stored twice."""
    return hmac.new(secret.encode("ascii"), role.encode("ascii"), hashlib.sha256).hexdigest()
