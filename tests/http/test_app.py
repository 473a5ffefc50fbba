"""Starting the service."""

import asyncio
from typing import Any
from urllib.parse import urlsplit

import httpx
import pytest

from service.app import Wiring, create_app
from service.settings import Settings
from service.store.connecting import connect
from service.store.errors import UnknownRevision, UnsafeRole
from tests.databases.clone import Database

PATIENCE = 30
"""Seconds within which a server has noticed that a connection was closed."""


async def start(url: str) -> int:
    """Start the service on a database, ask whether it is ready, and end it; give the status it answers."""
    app: Any = create_app(Wiring(Settings(database_url=url)))
    transport = httpx.ASGITransport(app)
    async with app.lifespan(), httpx.AsyncClient(transport=transport, base_url="http://ledger.test") as client:
        return (await client.get("/health/ready")).status_code


async def connections(owner_url: str, app_url: str) -> int:
    """Count the connections that the serving role has to its database."""
    role = urlsplit(app_url).username
    async with await connect(owner_url) as owner:
        counted = "SELECT count(*) FROM pg_stat_activity WHERE usename = %s AND datname = current_database()"
        found = await owner.execute(counted, (role,))
        return int((await found.fetchall())[0][0])


async def test_the_service_does_not_serve_as_the_owner(owner_url: str) -> None:
    """A role that could change the log is refused at the start."""
    with pytest.RaisesGroup(UnsafeRole, flatten_subgroups=True):
        await start(owner_url)


async def test_the_service_does_not_serve_what_is_not_migrated(empty_database: Database) -> None:
    """A database without the schema is refused at the start, with what to do."""
    with pytest.RaisesGroup(pytest.RaisesExc(UnknownRevision, match="run the migrations"), flatten_subgroups=True):
        await start(empty_database.owner_url)


async def test_the_service_starts_as_the_role_that_serves(owner_url: str, app_url: str) -> None:
    """The app role on a migrated database is ready and ends, twice in one process, and leaves no connection behind."""
    assert [await start(app_url), await start(app_url)] == [200, 200]
    async with asyncio.timeout(PATIENCE):
        while await connections(owner_url, app_url):
            pass
