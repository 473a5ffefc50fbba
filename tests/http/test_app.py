"""Starting the service."""

import pytest

from service.app import create_app
from service.settings import Settings
from service.store.errors import UnknownRevision, UnsafeRole
from tests.databases.clone import Database


async def start(url: str) -> None:
    """Start the service on a database, and end it."""
    async with create_app(Settings(database_url=url)).lifespan():
        pass


async def test_the_service_does_not_serve_as_the_owner(owner_url: str) -> None:
    """A role that could change the log is refused at the start."""
    with pytest.RaisesGroup(UnsafeRole, flatten_subgroups=True):
        await start(owner_url)


async def test_the_service_does_not_serve_what_is_not_migrated(empty_database: Database) -> None:
    """A database without the schema is refused at the start, with what to do."""
    with pytest.RaisesGroup(pytest.RaisesExc(UnknownRevision, match="run the migrations"), flatten_subgroups=True):
        await start(empty_database.owner_url)


async def test_the_service_starts_as_the_role_that_serves(app_url: str) -> None:
    """The app role on a migrated database starts and ends cleanly, twice in one process."""
    await start(app_url)
    await start(app_url)
