"""A desk to work at: an organisation of the test's own with an empty log, served as the app role.

Row security keeps tests apart as it keeps firms apart, so that one database serves them all.
"""

from collections.abc import AsyncIterator, Iterator
from uuid import uuid4

import pytest
from psycopg import AsyncConnection

from service.store.connecting import Pool, connect, make_pool
from service.store.make_organisation import make_organisation
from service.store.scope import set_organisation
from tests.databases.clone import Database, Template, cloned
from tests.store.making import CREATED_AT, Desk


@pytest.fixture(scope="package")
def shared(template: Template) -> Iterator[Database]:
    """Give one database for all tests of the store."""
    with cloned(template) as clone:
        yield clone


@pytest.fixture(scope="package")
async def shared_pool(shared: Database) -> AsyncIterator[Pool]:
    """Give a pool of the app role."""
    async with make_pool(shared.app_url, 24) as pool:
        yield pool


@pytest.fixture(scope="package")
async def shared_owner(shared: Database) -> AsyncIterator[AsyncConnection]:
    """Give a connection of the owner, to make organisations with."""
    async with await connect(shared.owner_url) as owner:
        yield owner


@pytest.fixture
async def desk(shared: Database, shared_pool: Pool, shared_owner: AsyncConnection) -> Desk:
    """Make two organisations, one to work for and a foreign one."""
    made = Desk(shared_pool, uuid4(), uuid4(), shared)
    async with shared_owner.transaction():
        for organisation in (made.organisation, made.foreign):
            await set_organisation(shared_owner, organisation)
            await make_organisation(shared_owner, organisation, "An invented firm", CREATED_AT)
    return made
